"""Plans worth a look besides the cheapest, each better in something that is named; and what other budgets would change."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields, replace
from typing import Literal

from rules.answer import Plan, Proof, Visit
from rules.caps import Cap, CapKind, caps_of
from rules.path import Aimed, problem_of
from rules.plan import aims
from rules.plan.master import Master
from rules.plan.problem import Demand
from rules.plan.settle import meets
from rules.planner import Planner
from rules.question import PathQuestion
from rules.wiring import Option

MOST_OTHERS = 4
"""How many plans are shown besides the cheapest: more than five in all nobody compares."""

BetterIn = Literal["spent", "visits", "waste", "wants_first", "first_visit"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What plans are compared by; of each, less is better. Money in minor units.

    `spent` is before resale, `first_visit` what the first visit asks for before resale, `visits` those in which something is
    done, `wants_first` the number of wants that nothing meets after the first visit.
    """

    total: int
    spent: int
    visits: int
    waste: int
    wants_first: int
    first_visit: int

    def is_as_good_as(self, other: Measures) -> bool:
        """Tell whether nothing here is worse than there."""
        return all(getattr(self, x.name) <= getattr(other, x.name) for x in fields(self))


@dataclass(frozen=True, slots=True, kw_only=True)
class Better:
    """What a plan is better in than the cheapest, and by how much: minor units, visits, or wants."""

    what: BetterIn
    by: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """Another plan: what is better in it, and what it costs more than the cheapest [minor units]."""

    plan: Plan
    better: tuple[Better, ...]
    dearer_by: int
    measures: Measures


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """What another amount for one budget would do. Money in minor units.

    `used` is what the plan takes of the budget, `total_without` what the whole would cost with no such budget, None if that was
    not proven. From `better_from` on the plan changes for the better, to `better_total`; None if no amount does that. Below
    `used`, with one minor unit less, the whole costs `total_below`; None if there is no plan then, or none that was proven.
    """

    kind: CapKind
    about: str
    budget: int
    used: int
    total_without: int | None
    better_from: int | None
    better_total: int | None
    total_below: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternatives:
    """The cheapest plan, at most four others that differ, dearer ones last, and what other budgets would change."""

    cheapest: Plan
    measures: Measures
    others: tuple[Alternative, ...]
    what_ifs: tuple[WhatIf, ...]


def alternatives_to(planner: Planner, question: PathQuestion, cheapest: Plan) -> Alternatives:
    """Find plans that are better in something than the cheapest one, and what other budgets would change."""
    own = measures_of(planner, question, cheapest)
    found: list[tuple[Plan, Measures]] = [(cheapest, own)]
    for aim in _aims(planner, question, cheapest, own):
        plan = planner.plan(question, aim)
        if plan is not None:
            found.append((plan, measures_of(planner, question, plan)))
    kept = [x for x in _undominated(found) if x[0] is not cheapest]
    others = [x for x in (_alternative(cheapest, own, *one) for one in kept) if x.better]
    return Alternatives(
        cheapest=cheapest,
        measures=own,
        others=tuple(sorted(others[:MOST_OTHERS], key=lambda x: x.dearer_by)),
        what_ifs=tuple(_what_if(planner, question, cheapest, cap) for cap in caps_of(question)),
    )


def _aims(planner: Planner, question: PathQuestion, cheapest: Plan, own: Measures) -> Iterator[Aimed]:
    """Give what may still be less than in the cheapest plan."""
    if own.visits > 1:
        yield Aimed(levels=(Master.visits_made,), is_worth=lambda plan: _visits(plan) < own.visits)
    # Where nothing is sold on, what is spent is the total, and nothing is less.
    if cheapest.resale:
        yield Aimed(levels=(aims.spent,), is_worth=lambda plan: plan.spent < own.spent)
    if own.wants_first and len(question.stages) > 1:
        yield Aimed(
            levels=(aims.unmet_first,),
            is_worth=lambda plan: measures_of(planner, question, plan).wants_first < own.wants_first,
        )
    if own.first_visit and len(question.stages) > 1:
        levels = (aims.nothing_new_first, aims.first_visit)
        yield Aimed(levels=levels, is_worth=lambda plan: plan.visits[0].spent < own.first_visit)
    if own.waste:
        yield Aimed(levels=(Master.wasted,), is_worth=lambda plan: plan.waste < own.waste)


def _undominated(found: Sequence[tuple[Plan, Measures]]) -> list[tuple[Plan, Measures]]:
    """Keep what no other is as good as in everything; of equals the first."""
    return [
        one
        for at, one in enumerate(found)
        if not any(
            other[1].is_as_good_as(one[1]) and (other[1] != one[1] or before < at)
            for before, other in enumerate(found)
            if before != at
        )
    ]


def _alternative(cheapest: Plan, own: Measures, plan: Plan, measures: Measures) -> Alternative:
    gains = {x.name: getattr(own, x.name) - getattr(measures, x.name) for x in fields(own)}
    kinds: tuple[BetterIn, ...] = ("spent", "visits", "waste", "wants_first")
    if not plan.visits[0].is_empty:
        # That nothing is paid for nothing is no gain.
        kinds = (*kinds, "first_visit")
    # That nothing is cheaper was proven of the other plan.
    is_as_cheap = plan.total == cheapest.proof.bound
    proof = Proof(state="proven" if is_as_cheap else "best_found", bound=cheapest.proof.bound)
    return Alternative(
        plan=replace(plan, proof=proof),
        better=tuple(Better(what=kind, by=gains[kind]) for kind in kinds if gains[kind] > 0),
        dearer_by=plan.total - cheapest.total,
        measures=measures,
    )


# --- measuring --------------------------------------------------------------------------------------------------


def measures_of(planner: Planner, question: PathQuestion, plan: Plan) -> Measures:
    """Measure a plan."""
    first = plan.visits[0]
    demands = problem_of(planner.desk, question).demands
    return Measures(
        total=plan.total,
        spent=plan.spent,
        visits=_visits(plan),
        waste=plan.waste,
        wants_first=sum(not _is_met(planner, demand, first) for demand in demands),
        first_visit=first.spent,
    )


def _visits(plan: Plan) -> int:
    return sum(not visit.is_empty for visit in plan.visits)


def _is_met(planner: Planner, demand: Demand, visit: Visit) -> bool:
    there = demand.options & visit.build
    if demand.least_w is None:
        return bool(there)
    option = _option(planner, visit)
    return any(meets(planner.desk, option, x, demand.least_w, hopeful=False) for x in sorted(there))


def _option(planner: Planner, visit: Visit) -> Option | None:
    options = planner.desk.examine(visit.build).options
    return next((x for x in options if x.mates == visit.wiring), None)


# --- other budgets ----------------------------------------------------------------------------------------------


def _what_if(planner: Planner, question: PathQuestion, cheapest: Plan, cap: Cap) -> WhatIf:
    used = cap.used(question, cheapest)
    without = planner.plan(cap.put(question, None))
    better = None
    if without is not None and without.total < cheapest.total:
        cost = aims.cost_of(cap.visits, resale=question.resale_counts)
        aim = Aimed(levels=(cost,), most_total=cheapest.total - 1)
        better = planner.plan(cap.put(question, None), aim)
    below = planner.plan(cap.put(question, used - 1)) if used > 0 else None
    return WhatIf(
        kind=cap.kind,
        about=cap.about,
        budget=cap.most,
        used=used,
        total_without=None if without is None else without.total,
        better_from=None if better is None else cap.used(question, better),
        better_total=None if better is None else better.total,
        total_below=None if below is None else below.total,
    )
