"""A saved plan in words: how it stands, what was done, and what is written down next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.claim import Covered, Since, covered
from rules.done import FittedPart, PlanChange, PresetSet, TakenOff, VisitDone
from rules.errors import MalformedQuestion
from rules.explain import part_name, place_name
from rules.figures import VisitFigures
from rules.question import Fitter, Stage
from rules.test_judging import Judged, Outcome, judge
from rules.test_sheet import ChannelReading, FilledTestSheet, Heard, PolarityHeard
from rules.warranty import add_months
from service.desk import words
from service.desk.asked import Fields, day_of, minor_of, visits_in
from service.desk.view import FITTERS, PlanView
from service.desk.wiring import short_name, words_of
from service.plans.recording import as_planned
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
            state=STATES[x.state],
            changed=x.changed_at.date(),
        )
        for x in found
    )


# --- what is written down -------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Item:
    """One line of the form in which a visit is written down: what the plan says, to be kept or changed."""

    value: str
    name: str
    where: str
    money: str
    is_amplifier: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class DoneForm:
    """The form in which a visit is written down, filled in as it was planned."""

    number: int
    on: date
    fitter: Fitter
    fitted: tuple[Item, ...]
    removed: tuple[Item, ...]
    presets: tuple[Item, ...]
    others: str


def done_form(saved: SavedPlan, number: int, view: PlanView, today: date) -> DoneForm:
    """Fill in the form of a visit as it was planned."""
    fitted, removed, others = as_planned(saved, number)
    visit = saved.plan.visits[number - 1]
    return DoneForm(
        number=number,
        on=max(visit.on, today) if visit.on > today else visit.on,
        fitter=visit.fitter,
        fitted=tuple(_item(x.placement, x.paid, view) for x in fitted),
        removed=tuple(_item(x.placement, x.fetched, view) for x in removed),
        presets=tuple(_item(x.amplifier, None, view) for x in visit.presets),
        others=words.plain_money(others, view.shop),
    )


def _item(placed: Placement, money: int | None, view: PlanView) -> Item:
    part = view.catalog.parts[placed.part]
    return Item(
        value=str(placed),
        name=part.name,
        where=place_name(placed.place, view.catalog),
        money=words.plain_money(money, view.shop),
        is_amplifier=part.kind == "amplifier",
    )


def read_done(fields: Fields, number: int, view: PlanView) -> VisitDone:
    """Read a visit as it was written down.

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
        fitted=tuple(
            FittedPart(
                placement=read_placement(x),
                paid=minor_of(fields.one(f"paid:{x}"), shop, "paid"),
                serial=fields.short(f"serial:{x}"),
            )
            for x in fields.all("fitted")
        ),
        removed=tuple(
            TakenOff(
                placement=read_placement(x),
                fetched=minor_of(fields.one(f"fetched:{x}"), shop, "fetched") or 0,
            )
            for x in fields.all("removed")
        ),
        presets=tuple(_presets(fields, on, by)),
        others_paid=minor_of(fields.one("others"), shop, "others") or 0,
    )


def _presets(fields: Fields, on: date, by: str) -> Iterator[PresetSet]:
    for name in fields.all("preset"):
        yield PresetSet(
            amplifier=read_placement(name),
            serial=fields.short(f"serial:{name}"),
            made_on=on,
            made_by=fields.short(f"preset-by:{name}") or by,
            software=fields.short(f"software:{name}"),
            volume_step=fields.count(f"volume:{name}") or None,
        )


HEARD: Mapping[str, Heard] = {"right": "right", "turned": "turned"}


def read_sheet(fields: Fields) -> FilledTestSheet:
    """Read a test sheet as it was filled in.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    signed_by = fields.short("signed_by")
    on = day_of(fields.one("on"), "on")
    return FilledTestSheet(
        on=on,
        by=fields.short("by"),
        rest_v=_volts(fields, "rest_v"),
        idle_v=_volts(fields, "idle_v"),
        raised_v=_volts(fields, "raised_v"),
        amplifier_v=_volts(fields, "amplifier_v"),
        channels=tuple(_channels(fields)),
        polarity=tuple(
            PolarityHeard(compare=x, heard=HEARD.get(fields.one(f"heard:{x}"), "not_checked"))
            for x in fields.all("compare")
        ),
        steers_freely=fields.has("steers_freely") or None,
        lids_close=fields.has("lids_close") or None,
        photos=tuple(x.strip() for x in fields.one("photos").split(",") if x.strip()),
        notes=fields.one("notes")[:2000],
        signed_by=signed_by,
        signed_on=on if signed_by else None,
    )


def _channels(fields: Fields) -> Iterator[ChannelReading]:
    for name in fields.all("channel"):
        owner, _, channel = name.partition(":")
        yield ChannelReading(
            source=read_placement(owner),
            channel=channel,
            measured_v=_volts(fields, f"measured:{name}"),
            high_pass_hz=_volts(fields, f"high:{name}"),
            low_pass_hz=_volts(fields, f"low:{name}"),
        )


def _volts(fields: Fields, name: str) -> float | None:
    told = fields.one(name).replace(",", ".")
    if not told:
        return None
    try:
        value = float(told)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 100_000:  # noqa: PLR2004 -- volts and hertz alike
        raise MalformedQuestion(name.partition(":")[0], "a reading is no number", "write it like 12.6")
    return value


@dataclass(frozen=True, slots=True, kw_only=True)
class Movable:
    """A part that is still to come, and what can be asked of it; `chosen` is what was asked last."""

    id: str
    name: str
    chosen: str


def movable(saved: SavedPlan, view: PlanView, fields: Fields) -> tuple[Movable, ...]:
    """Give the parts that somebody wanted and that are still to come."""
    wanted = {part for want in saved.question.wants for part in want.parts}
    coming = {x.part for _, visit in saved.to_come for x in visit.adds} & wanted
    asked = {part: word for word, _, part in (x.partition(":") for x in fields.all("part"))}
    return tuple(
        Movable(id=x, name=part_name(x, view.catalog), chosen=asked.get(x, "")) for x in sorted(coming)
    )


def read_change(fields: Fields, view: PlanView) -> PlanChange:
    """Read what is to be otherwise in what is left of a plan: its visits, what all may cost, parts sooner or not at all.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    stages = tuple(
        Stage(
            on=date.fromisoformat(str(x["on"])),
            fitter="home" if x["fitter"] == "home" else "shop",
            budget=budget if isinstance(budget := x.get("budget_minor"), int) else None,
        )
        for x in visits_in(fields, view.shop)
    )
    chosen = [x.partition(":") for x in fields.all("part")]
    return PlanChange(
        stages=stages,
        budget=minor_of(fields.one("whole"), view.shop, "whole"),
        now=tuple(part for word, _, part in chosen if word == "now"),
        drop=tuple(part for word, _, part in chosen if word == "drop"),
    )
