"""The form in which a visit is written down, or put right: filled in as it was planned, or as it was written down before."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from itertools import zip_longest

from rules.build import Placement
from rules.done import FittedPart, PresetSet, TakenOff, VisitDone
from rules.errors import MalformedQuestion
from rules.explain import part_name, place_name
from rules.question import Fitter
from service.desk import words
from service.desk.asked import Fields, day_of, minor_of
from service.desk.view import PlanView
from service.plans.recording import as_planned
from service.plans.saved import SavedPlan
from service.shapes.placement import read_placement

BESIDES = 3
"""Parts that the form takes beyond those that were planned."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the form: a part, to be ticked or not."""

    value: str
    name: str
    where: str
    money: str = ""
    serial: str = ""
    ticked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetItem:
    """One amplifier that is preset, or was."""

    item: Item
    software: str = ""
    volume: str = ""
    by: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Besides:
    """What else could have been fitted at one place."""

    name: str
    parts: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitForm:
    """The form, filled in.

    Attributes:
        others: What was paid besides parts.
        still: What was on the bike and was not planned to come off.
        besides: What could have been fitted without having been planned.
    """

    on: date
    by: str
    fitter: Fitter
    fitted: tuple[Item, ...]
    removed: tuple[Item, ...]
    still: tuple[Item, ...]
    besides: tuple[Besides, ...]
    presets: tuple[PresetItem, ...]
    others: str


def form_planned(saved: SavedPlan, number: int, view: PlanView) -> VisitForm:
    """Fill in the form of a visit that is still to come, as it was planned."""
    fitted, removed, others = as_planned(saved, number)
    visit = saved.plan.visits[number - 1]
    presets = tuple(PresetItem(item=_item(x.amplifier, view)) for x in visit.presets)
    return VisitForm(
        on=visit.on,
        by="",
        fitter=visit.fitter,
        fitted=tuple(_fitted(x, view) for x in fitted),
        removed=tuple(_off(x, view) for x in removed),
        still=_still(saved, {x.placement for x in removed}, view),
        besides=_besides({x.placement for x in fitted}, view),
        presets=presets,
        others=words.plain_money(others, view.shop),
    )


def form_recorded(saved: SavedPlan, number: int, planned: SavedPlan, view: PlanView) -> VisitForm:
    """Fill in the form of a visit that was done, as it was written down; what was planned and not done stands there unticked.

    Args:
        number: Of the visit, counted from 1 over all that were done.
        planned: The plan under which it was done, and `view` that plan in words.
    """
    done = saved.visit_done(number)
    fitted, removed, _ = as_planned(planned, done.visit)
    came, went = done.parts
    preset = {x.amplifier for x in done.presets}
    due = (x.amplifier for x in planned.plan.visits[done.visit - 1].presets if x.amplifier not in preset)
    return VisitForm(
        on=done.on,
        by=done.by,
        fitter=done.fitter,
        fitted=(
            *(_fitted(x, view) for x in done.fitted),
            *(_fitted(x, view, ticked=False) for x in fitted if x.placement not in came),
        ),
        removed=(
            *(_off(x, view) for x in done.removed),
            *(_off(x, view, ticked=False) for x in removed if x.placement not in went),
        ),
        still=_still(saved, {*went, *(x.placement for x in removed), *came}, view),
        besides=_besides(came | {x.placement for x in fitted}, view),
        presets=(
            *(_preset(x, view) for x in done.presets),
            *(PresetItem(item=_item(x, view, ticked=False)) for x in due),
        ),
        others=words.plain_money(done.others_paid, view.shop),
    )


def _item(
    placed: Placement, view: PlanView, money: int | None = None, serial: str = "", *, ticked: bool = True
) -> Item:
    return Item(
        value=str(placed),
        name=part_name(placed.part, view.catalog),
        where=place_name(placed.place, view.catalog),
        money=words.plain_money(money, view.shop),
        serial=serial,
        ticked=ticked,
    )


def _fitted(fitted: FittedPart, view: PlanView, *, ticked: bool = True) -> Item:
    return _item(fitted.placement, view, fitted.paid, fitted.serial, ticked=ticked)


def _off(off: TakenOff, view: PlanView, *, ticked: bool = True) -> Item:
    return _item(off.placement, view, off.fetched, ticked=ticked)


def _preset(preset: PresetSet, view: PlanView) -> PresetItem:
    return PresetItem(
        item=_item(preset.amplifier, view, serial=preset.serial),
        software=preset.software,
        volume=str(preset.volume_step or ""),
        by=preset.made_by,
    )


def _still(saved: SavedPlan, listed: set[Placement], view: PlanView) -> tuple[Item, ...]:
    there = saved.found_now.present(view.bench.stock) - listed
    return tuple(_item(x, view, ticked=False) for x in view.sorted(there))


def _besides(listed: Iterable[Placement], view: PlanView) -> tuple[Besides, ...]:
    left = view.bench.universe - frozenset(listed)
    return tuple(
        Besides(
            name=place_name(place, view.catalog),
            parts=tuple(
                sorted(
                    ((str(x), part_name(x.part, view.catalog)) for x in left if x.place == place), key=_name
                )
            ),
        )
        for place in view.letters
    )


def _name(choice: tuple[str, str]) -> tuple[str, str]:
    value, name = choice
    return name, value


def read_visit(fields: Fields, number: int, view: PlanView) -> VisitDone:
    """Read a visit as it was written down.

    Args:
        number: Of the visit in its plan, counted from 1.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    shop = view.shop
    by = fields.short("by")
    if not by:
        raise MalformedQuestion("by", "nobody is named who did the work", "write who fitted it")
    on = day_of(fields.one("on"), "on")
    return VisitDone(
        visit=number,
        on=on,
        fitter="home" if fields.one("fitter") == "home" else "shop",
        by=by,
        fitted=(*_fitted_in(fields, view), *_besides_in(fields, view)),
        removed=tuple(
            TakenOff(
                placement=read_placement(x),
                fetched=minor_of(fields.one(f"fetched:{x}"), shop, "fetched") or 0,
            )
            for x in fields.all("removed")
        ),
        presets=tuple(_presets_in(fields, on, by)),
        others_paid=minor_of(fields.one("others"), shop, "others") or 0,
    )


def _fitted_in(fields: Fields, view: PlanView) -> Iterator[FittedPart]:
    for name in fields.all("fitted"):
        yield FittedPart(
            placement=read_placement(name),
            paid=minor_of(fields.one(f"paid:{name}"), view.shop, "paid"),
            serial=fields.short(f"serial:{name}"),
        )


def _besides_in(fields: Fields, view: PlanView) -> Iterator[FittedPart]:
    columns = (fields.all(x) for x in ("besides", "besides_paid", "besides_serial"))
    for name, paid, serial in zip_longest(*columns, fillvalue=""):
        if name:
            yield FittedPart(
                placement=read_placement(name), paid=minor_of(paid, view.shop, "paid"), serial=serial[:200]
            )


def _presets_in(fields: Fields, on: date, by: str) -> Iterator[PresetSet]:
    for name in fields.all("preset"):
        yield PresetSet(
            amplifier=read_placement(name),
            serial=fields.short(f"serial:{name}"),
            made_on=on,
            made_by=fields.short(f"preset-by:{name}") or by,
            software=fields.short(f"software:{name}"),
            volume_step=fields.count(f"volume:{name}") or None,
        )
