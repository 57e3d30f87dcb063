"""Why there is no plan, why each part, and how else: in sentences for the counter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rules.alternatives import Alternative, Alternatives, Better, WhatIf
from rules.answer import Conflict, Cure, NoPlan, Plan
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.catalog.shop import Shop
from rules.explain import how_to_find, part_name, place_name, placement_name, sentence
from rules.question import PathQuestion, Want
from rules.why import Moved, Reason, Reasons
from service.desk import words


def tell_wants(question: PathQuestion, catalog: Catalog) -> tuple[str, ...]:
    """Tell what is wanted."""
    return tuple(_want(x, catalog) for x in question.wants)


def _want(want: Want, catalog: Catalog) -> str:
    told = [" or ".join(part_name(x, catalog) for x in want.parts)] if want.parts else []
    told += [want.kind.replace("_", " ")] if want.kind else []
    told += [f"speakers in the {want.zone}" if not told else f"in the {want.zone}"] if want.zone else []
    told += [f"at the {place_name(want.place, catalog)}"] if want.place else []
    told += [f"{want.least_w:g} W for each speaker"] if want.least_w else []
    told += [x.replace("-", " ") for x in want.functions]
    told += [f"by visit {want.by}"] if want.by else []
    return ", ".join(told)


_DEMANDS = {
    "want": "what is wanted: {about}",
    "budget": "the money of the visit of {about}",
    "year_budget": "the money of the year {about}",
    "path_budget": "the money for everything",
    "availability": "when it can be had: {about}",
    "no_rewiring": "nothing that was laid is pulled out again: {about}",
    "rule": "what the bike and the parts allow: {about}",
    "locked": "what must stay: {about}",
    "excluded": "what was ruled out: {about}",
    "colour": "the colour: {about}",
    "mass": "what it may weigh more: {about}",
    "fitter": "who fits: {about}",
}

_CURES = {
    "raise_budget": "{more} more for the visit of {about}",
    "raise_year_budget": "{more} more for {about}",
    "raise_path_budget": "{more} more for everything",
    "later": "wait for {about} until visit {visit}",
    "another_visit": "come once more, on {on}",
    "at_the_shop": "let the workshop fit on {about}",
    "unlock": "let {about} go",
    "allow_part": "allow {about}",
    "any_colour": "take another colour than {about}",
    "any_mass": "let it weigh more than {about}",
    "rewire": "let {about} come out again",
    "leave_out": "go without {about}",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPlanTold:
    """Why there is no plan, and what would make one."""

    says: str
    demands: tuple[str, ...]
    cures: tuple[str, ...]
    ask: str
    findings: tuple[str, ...]
    missing: tuple[str, ...]


def tell_no_plan(answer: NoPlan, catalog: Catalog) -> NoPlanTold:
    """Tell which demands stand in the way, or which facts are missing."""
    conflict = answer.reason == "conflict"
    return NoPlanTold(
        says="There is no way to have all of this at once:"
        if conflict
        else "Nobody can say yet: something is not known.",
        demands=tuple(_demand(x, catalog) for x in answer.conflicts),
        cures=tuple(_cure(x, catalog) for x in answer.cures),
        ask=answer.ask,
        findings=tuple(words.sentence(sentence(x, catalog)) for x in answer.findings),
        missing=tuple(dict.fromkeys(how_to_find(x) for x in answer.missing)),
    )


def _demand(conflict: Conflict, catalog: Catalog) -> str:
    return _DEMANDS[conflict.kind].format(about=_about(conflict.about, catalog))


def _cure(cure: Cure, catalog: Catalog) -> str:
    told = _CURES[cure.kind].format(
        about=_about(cure.about, catalog),
        more=_money(cure.more, catalog.shop),
        visit=cure.visit,
        on=words.day(cure.on),
    )
    return f"{told}: it all comes to {_money(cure.total, catalog.shop)}"


def _money(minor: int | None, shop: Shop) -> str:
    return f"{words.money(minor, shop)} {shop.currency}"


def _about(about: str, catalog: Catalog) -> str:
    """Name a part, a part at a place, or a day; what is none of these is said as it is."""
    part, _, place = about.partition("@")
    if part in catalog.parts:
        return placement_name(Placement(part, place), catalog) if place else part_name(part, catalog)
    if part in catalog.rules:
        return catalog.rules[part].says
    try:
        return words.day(date.fromisoformat(about))
    except ValueError:
        return about


# --- why ------------------------------------------------------------------------------------------------------------

_IN_THE_WAY = {
    "too_late": "too late",
    "not_valid": "would not work",
    "not_for_sale": "not for sale",
    "not_at_home": "not work for home",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyRow:
    """Why one part is bought, and why then."""

    name: str
    where: str
    on: date
    why: str
    moved: tuple[str, ...]
    kept: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhyTold:
    """The reasons of all parts, and what else would do."""

    rows: tuple[WhyRow, ...]
    others: tuple[str, ...]


def tell_why(reasons: Reasons, catalog: Catalog) -> WhyTold:
    """Tell of each part why it is bought and why then; and of what was not bought, what it would cost more."""
    return WhyTold(
        rows=tuple(_why(x, reasons, catalog) for x in reasons.purchases),
        others=tuple(
            f"{placement_name(x.part, catalog)}: "
            + ("no way has it" if x.dearer_by is None else f"{_money(x.dearer_by, catalog.shop)} more")
            for x in reasons.not_bought
        ),
    )


def _why(reason: Reason, reasons: Reasons, catalog: Catalog) -> WhyRow:
    by = dict.fromkeys(part_name(x.part, catalog) for need in reason.needed for x in need.by)
    told = ["asked for"] if reason.wanted else []
    told += [f"needed by {', '.join(by)}"] if by else []
    told += [f"in a set: {part_name(reason.bundle, catalog)}"] if reason.bundle else []
    return WhyRow(
        name=part_name(reason.part.part, catalog),
        where=place_name(reason.part.place, catalog),
        on=reasons.plan.visits[reason.visit - 1].on,
        why="; ".join(told),
        moved=tuple(_moved(x, reasons, catalog) for x in reason.moved),
        kept=words.money(reason.kept, catalog.shop),
    )


def _moved(moved: Moved, reasons: Reasons, catalog: Catalog) -> str:
    on = words.day(reasons.plan.visits[moved.visit - 1].on)
    if moved.outcome in _IN_THE_WAY:
        return f"{on}: {_IN_THE_WAY[moved.outcome]}"
    if moved.outcome == "over_budget":
        return f"{on}: {_money(moved.short or 0, catalog.shop)} over the money for it"
    word = {"dearer": "dearer", "cheaper": "less"}.get(moved.outcome)
    return f"{on}: {_money(abs(moved.by or 0), catalog.shop)} {word}" if word else f"{on}: the same"


# --- other ways -----------------------------------------------------------------------------------------------------

_BETTER = {
    "spent": "{money} less to pay before anything is sold on",
    "visits": "fewer visits: {count} less",
    "waste": "{money} more of it stays",
    "wants_first": "more of what is wanted at the first visit: {count}",
    "first_visit": "{money} less at the first visit",
}
_BUDGETS = {"budget": "of the visit of {about}", "year_budget": "of {about}", "path_budget": "for everything"}


@dataclass(frozen=True, slots=True, kw_only=True)
class WayVisit:
    """One visit of another way."""

    on: date
    spent: str
    parts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """Another way: what is better in it, and what it comes to."""

    better: tuple[str, ...]
    total: str
    dearer: str
    visits: tuple[WayVisit, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class WaysTold:
    """The plan beside other ways, and other budgets."""

    total: str
    visits: tuple[WayVisit, ...]
    others: tuple[Way, ...]
    budgets: tuple[str, ...]


def tell_ways(answer: Alternatives, catalog: Catalog) -> WaysTold:
    """Tell what else is worth a look, and what another budget would change."""
    shop = catalog.shop
    return WaysTold(
        total=_money(answer.cheapest.total, shop),
        visits=tuple(way_visits(answer.cheapest, catalog)),
        others=tuple(_way(x, catalog) for x in answer.others),
        budgets=tuple(" ".join(_what_if(x, answer, shop)) for x in answer.what_ifs),
    )


def _way(other: Alternative, catalog: Catalog) -> Way:
    return Way(
        better=tuple(_better(x, catalog.shop) for x in other.better),
        total=_money(other.plan.total, catalog.shop),
        dearer=f"{_money(other.dearer_by, catalog.shop)} more" if other.dearer_by else "the same money",
        visits=tuple(way_visits(other.plan, catalog)),
    )


def way_visits(plan: Plan, catalog: Catalog) -> Iterator[WayVisit]:
    """Give the visits of a plan on which something is done, with what comes in."""
    for visit in plan.visits:
        if not visit.is_empty:
            adds = sorted(visit.adds, key=lambda x: (x.place, x.part))
            yield WayVisit(
                on=visit.on,
                spent=_money(visit.spent, catalog.shop),
                parts=tuple(part_name(x.part, catalog) for x in adds),
            )


def _better(better: Better, shop: Shop) -> str:
    return _BETTER[better.what].format(money=_money(better.by, shop), count=better.by)


def _what_if(what_if: WhatIf, answer: Alternatives, shop: Shop) -> Iterator[str]:
    about = words.day(date.fromisoformat(what_if.about)) if what_if.kind == "budget" else what_if.about
    name = _BUDGETS[what_if.kind].format(about=about)
    yield f"The money {name} is {_money(what_if.budget, shop)}; {_money(what_if.used, shop)} of it is used."
    if what_if.better_from is not None and what_if.better_total is not None:
        gain = answer.cheapest.total - what_if.better_total
        yield f"From {_money(what_if.better_from, shop)} on it all comes to {_money(gain, shop)} less."
    if what_if.total_without is not None and what_if.total_without != answer.cheapest.total:
        yield f"With no such limit it all comes to {_money(what_if.total_without, shop)}."
    if what_if.used > 0:
        below = what_if.total_below
        told = "no way was found" if below is None else f"it all comes to {_money(below, shop)}"
        yield f"With less than is used, {told}."
