"""A saved plan in words: how it stands, what was done, and what stands about it years later."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.claim import Covered, Since, covered
from rules.done import FittedPart, PresetSet, VisitDone
from rules.explain import part_name, place_name
from rules.figures import VisitFigures
from rules.test_judging import Judged, Outcome, judge
from rules.test_sheet import FilledTestSheet
from rules.warranty import add_months
from service.desk import words
from service.desk.view import FITTERS, PlanView
from service.desk.wiring import short_name, words_of
from service.plans.saved import PlanListed, SavedPlan, State
from service.plans.standing import Standing, StandingWord
from service.shapes.placement import read_placement

STATES: Mapping[State, str] = {
    "planned": "nothing is done yet",
    "under_way": "under way",
    "finished": "all of it is done",
}

STANDINGS: Mapping[StandingWord, str] = {
    "holds": "What is left can be done as planned, for the same money.",
    "cheaper_now": "What is left can be done as planned, and it can be had for less now.",
    "dearer_now": "What is left can be done as planned; prices have gone up since.",
    "changes": "It cannot be done as planned any more from visit {visit} on; there is another way.",
    "no_path": "There is no way any more to what is left of it.",
    "nothing_left": "Nothing is left to do.",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class StandingView:
    """How a plan stands, in words."""

    says: str
    money: str
    reasons: tuple[str, ...]


def tell_standing(standing: Standing, view: PlanView, catalog: Catalog) -> StandingView:
    """Tell how a plan stands under today's prices and rules."""
    money = ""
    if standing.now is not None and standing.now != standing.planned:
        now, planned = view.money(standing.now), view.money(standing.planned)
        money = f"Planned {planned}, today {now} {view.shop.currency}."
    rules = dict.fromkeys(rule for x in standing.obstacles for rule in x.rules if rule in catalog.rules)
    return StandingView(
        says=STANDINGS[standing.word].format(visit=standing.visit),
        money=money,
        reasons=tuple(words.sentence(catalog.rules[x].says) for x in rules),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class DonePart:
    """One part that was fitted, with its warranty."""

    name: str
    where: str
    paid: str
    serial: str
    until: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneView:
    """One visit that was done, in words. `number` counts all that were done."""

    number: int
    on: date
    by: str
    fitter: str
    as_planned: bool
    parts: tuple[DonePart, ...]
    off: tuple[str, ...]
    presets: tuple[tuple[str, PresetSet], ...]
    paid: str
    fetched: str
    sheet: FilledTestSheet | None


def tell_done(saved: SavedPlan, view: PlanView) -> tuple[DoneView, ...]:
    """Tell every visit that was done."""
    return tuple(_done(number, x, view) for number, x in enumerate(saved.done, 1))


def _done(number: int, done: VisitDone, view: PlanView) -> DoneView:
    catalog = view.catalog
    return DoneView(
        number=number,
        on=done.on,
        by=done.by,
        fitter=FITTERS[done.fitter],
        as_planned=done.as_planned,
        parts=tuple(_part(x, done, view) for x in done.fitted),
        off=tuple(_named(x.placement, catalog) for x in done.removed),
        presets=tuple((part_name(x.amplifier.part, catalog), x) for x in done.presets),
        paid=view.money(done.paid),
        fetched=view.money(done.fetched) if done.fetched else "",
        sheet=done.sheet,
    )


def _part(fitted: FittedPart, done: VisitDone, view: PlanView) -> DonePart:
    until = None if fitted.warranty_months is None else add_months(done.on, fitted.warranty_months)
    preset = next((x for x in done.presets if x.amplifier == fitted.placement), None)
    return DonePart(
        name=part_name(fitted.placement.part, view.catalog),
        where=place_name(fitted.placement.place, view.catalog),
        paid=view.money(fitted.paid),
        serial=fitted.serial or (preset.serial if preset else ""),
        until=until,
    )


def _named(placed: Placement, catalog: Catalog) -> str:
    return f"{part_name(placed.part, catalog)} ({place_name(placed.place, catalog)})"


@dataclass(frozen=True, slots=True, kw_only=True)
class JudgedView:
    """One entry of a test sheet against its limits, in words."""

    what: str
    found: str
    shall: str
    says: str
    basis: str


OUTCOMES: Mapping[Outcome, str] = {
    "within": "as it should be",
    "mind": "to mind",
    "outside": "not as it should be",
    "not_written_down": "not written down",
}

ENTRIES = {
    "rest_v": "battery at rest",
    "idle_v": "battery, idling",
    "raised_v": "battery, raised",
    "amplifier_v": "lost on the way to the amplifier",
    "channel": "{about}, test tone",
    "filter": "{about}, filter",
    "polarity": "{about}",
    "steers_freely": "bars from lock to lock",
    "lids_close": "lids and cases",
    "photos": "photos",
    "signed_by": "sign-off",
}


def tell_judged(sheet: FilledTestSheet, figures: VisitFigures, catalog: Catalog) -> tuple[JudgedView, ...]:
    """Hold a test sheet against its limits, and tell it in words."""
    return tuple(_judged(x, catalog) for x in judge(sheet, figures))


def _judged(one: Judged, catalog: Catalog) -> JudgedView:
    owner, _, channel = one.about.partition(":")
    placed = read_placement(owner)
    about = one.about
    if placed.part in catalog.parts:
        about = f"{short_name(catalog.parts[placed.part].name)}, {words_of(channel)}"
    ends = [
        f"{word} {words.number(value)} {one.unit}"
        for word, value in (("at least", one.least), ("at most", one.most))
        if value is not None
    ]
    found = f": {words.number(one.measured)} {one.unit}" if one.measured is not None else ""
    return JudgedView(
        what=ENTRIES[one.entry].format(about=about),
        found=f"{OUTCOMES[one.outcome]}{found}",
        shall=", ".join(ends),
        says=words.sentence(words.capital(one.says)),
        basis="worked out for this plan" if one.basis == "calculation" else one.cites,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ClaimView:
    """One part that was fitted, as it stands on the day of a claim."""

    name: str
    where: str
    serial: str
    fitted: str
    until: date | None
    says: str
    preset: str
    since: tuple[str, ...]


SINCE: Mapping[Since, str] = {"fitted": "came in", "removed": "came off", "preset": "was preset"}


def tell_claim(saved: SavedPlan, catalog: Catalog, today: date) -> tuple[ClaimView, ...]:
    """Tell of every part that was fitted what stands about it today."""
    return tuple(_claim(x, catalog) for x in covered(saved.done, today))


def _claim(one: Covered, catalog: Catalog) -> ClaimView:
    gone = "" if one.is_there else " It is not on the bike any more."
    return ClaimView(
        name=part_name(one.placement.part, catalog),
        where=place_name(one.placement.place, catalog),
        serial=one.serial,
        fitted=f"{words.day(one.fitted_on)}, {FITTERS[one.fitter]} by {one.by}",
        until=one.ends_on,
        says=f"{one.says}{gone}",
        preset=_preset_of(one),
        since=tuple(
            f"{words.day(x.on)}: {_named(x.placement, catalog)} {SINCE[x.kind]}, by {x.by}"
            + (" (at the same place)" if x.near else "")
            for x in one.since
        ),
    )


def _preset_of(one: Covered) -> str:
    if one.preset is None:
        return ""
    other = " The serial number is another one than it was fitted with." if one.same_piece is False else ""
    return (
        f"Preset {words.day(one.preset.made_on)} by {one.preset.made_by}, serial {one.preset.serial}.{other}"
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ListedView:
    """One plan of the list."""

    id: str
    bike: str
    rider: str
    state: str
    changed: date


def tell_listed(found: list[PlanListed], catalog: Catalog) -> tuple[ListedView, ...]:
    """Tell plans for the list."""
    return tuple(
        ListedView(
            id=x.id,
            bike=words.full_name(catalog.bikes[x.bike]) if x.bike in catalog.bikes else x.bike,
            rider=x.rider.name if x.rider else "",
            state=STATES[x.state] + ("; put away" if x.archived_at else ""),
            changed=x.changed_at.date(),
        )
        for x in found
    )
