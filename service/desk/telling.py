"""Why there is no plan, why each part, and how else: in sentences for the counter."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import partial

from rules.alternatives import Alternative, Alternatives
from rules.answer import NoPlan, Plan
from rules.catalog.catalog import Catalog
from rules.catalog.shop import Shop
from rules.explain import how_to_find, part_name, place_name, placement_name, sentence
from rules.question import PathQuestion, Want
from rules.why import Reason, Reasons
from service.desk import words
from service.plan_words import PlanWords


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


def plan_words(catalog: Catalog) -> PlanWords:
    """Give the words about plans, with money and days as the pages write them."""
    return PlanWords(catalog=catalog, money=partial(_money, shop=catalog.shop), day=words.day)


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
    conflict, told = answer.reason == "conflict", plan_words(catalog)
    return NoPlanTold(
        says="There is no way to have all of this at once:"
        if conflict
        else "Nobody can say yet: something is not known.",
        demands=tuple(map(told.demand, answer.conflicts)),
        cures=tuple(map(told.cure, answer.cures)),
        ask=answer.ask,
        findings=tuple(words.sentence(sentence(x, catalog)) for x in answer.findings),
        missing=tuple(dict.fromkeys(how_to_find(x, catalog) for x in answer.missing)),
    )


def _money(minor: int | None, shop: Shop) -> str:
    return f"{words.money(minor, shop)} {shop.currency}"


# --- why ------------------------------------------------------------------------------------------------------------


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
    told = plan_words(catalog)
    return WhyRow(
        name=part_name(reason.part.part, catalog),
        where=place_name(reason.part.place, catalog),
        on=reasons.plan.visits[reason.visit - 1].on,
        why=told.why(reason),
        moved=tuple(told.moved(x, reasons) for x in reason.moved),
        kept=words.money(reason.kept, catalog.shop),
    )


# --- other ways -----------------------------------------------------------------------------------------------------


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
    told = plan_words(catalog)
    return WaysTold(
        total=_money(answer.cheapest.total, catalog.shop),
        visits=tuple(way_visits(answer.cheapest, catalog)),
        others=tuple(_way(x, catalog) for x in answer.others),
        budgets=tuple(" ".join(told.what_if(x, answer)) for x in answer.what_ifs),
    )


def _way(other: Alternative, catalog: Catalog) -> Way:
    return Way(
        better=tuple(map(plan_words(catalog).better, other.better)),
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
