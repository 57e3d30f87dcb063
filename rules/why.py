"""Why each part of a plan is bought, and why at that visit: found by leaving it out, or moving it, and reckoning anew."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from rules.answer import LedgerPart, Plan
from rules.build import Build, Placement
from rules.caps import CapKind, caps_of
from rules.money import Line, total
from rules.path import problem_of
from rules.plan.problem import Demand, Problem
from rules.plan.schedule import Schedule, doings_of
from rules.plan.settle import State, settle
from rules.planner import Planner
from rules.question import PathQuestion, Want
from rules.verdict import Finding, Status
from rules.wish import about, options_of

CHOICES = 3
"""How many parts that a want leaves open are planned with, to say what they would cost more."""

Outcome = Literal[
    "dearer", "same", "cheaper", "too_late", "not_valid", "not_for_sale", "not_at_home", "over_budget"
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """What is refused, or not verified, where a part is left out: the rule, and the parts that it is about."""

    rule: str
    by: tuple[Placement, ...]
    visit: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """What comes of fitting a part, with what it alone needs, at another visit, all else as planned.

    `by` is the difference of the whole cost after resale [minor units]: `parts`, `labour` and `presets` (with freight) are what
    it is made of, and what is sold on the rest; None where it cannot be reckoned. `about` names the rule, the want, the part or
    the budget in the way; `short` is by how much that budget is exceeded [minor units].
    """

    visit: int
    outcome: Outcome
    by: int | None = None
    parts: int = 0
    labour: int = 0
    presets: int = 0
    about: str = ""
    short: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reason:
    """Why one part is bought, and why at this visit (counted from 1). Money in minor units.

    `wanted` are the wants that it meets, `due` the visit by which the first of them is; `needed` says what needs it; `for_later`
    the wants without which the cheapest plan does not have it. `bundle` is the set that it came in. `kept` of what was paid is
    on the bike at the end or was got back, `wasted` is gone.
    """

    part: Placement
    visit: int
    wanted: tuple[str, ...]
    due: int | None
    needed: tuple[Need, ...]
    for_later: tuple[str, ...]
    bundle: str | None
    moved: tuple[Moved, ...]
    paid: int
    kept: int
    wasted: int


@dataclass(frozen=True, slots=True, kw_only=True)
class NotBought:
    """A part that a want leaves open and the plan does without: the total of the cheapest plan that has it; None if none has."""

    want: str
    part: Placement
    total: int | None
    dearer_by: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Reasons:
    """A plan with the reason of each purchase, and what was not bought."""

    plan: Plan
    purchases: tuple[Reason, ...]
    not_bought: tuple[NotBought, ...]


def reasons_for(planner: Planner, question: PathQuestion, plan: Plan) -> Reasons:
    """Give the reasons of a plan that answers this question."""
    without = {about(x): _without(planner, question, x) for x in _spare(question)}
    case = _Case(planner, question, plan, problem_of(planner.desk, question), without)
    bought = (
        case.reason(placed, number)
        for number, visit in enumerate(plan.visits, 1)
        for placed in sorted(visit.adds, key=lambda x: (x.place, x.part))
    )
    return Reasons(plan=plan, purchases=tuple(bought), not_bought=tuple(_not_bought(planner, question, plan)))


def _spare(question: PathQuestion) -> tuple[Want, ...]:
    return question.wants if len(question.wants) > 1 else ()


def _without(planner: Planner, question: PathQuestion, want: Want) -> frozenset[Placement] | None:
    """Give all that the cheapest plan without one want adds."""
    plan = planner.plan(replace(question, wants=tuple(x for x in question.wants if x != want)))
    return None if plan is None else frozenset(x for visit in plan.visits for x in visit.adds)


def _not_bought(planner: Planner, question: PathQuestion, plan: Plan) -> Iterator[NotBought]:
    """Plan with the cheapest few of the parts that each want leaves open."""
    pricer, last = planner.desk.pricer, question.stages[-1].on
    there = plan.visits[-1].build
    for want in dict.fromkeys(question.wants):
        bought = {x.part for x in there}
        options = (x for x in options_of(planner.desk.bench, want) if x.part not in bought)
        priced = [
            (price.amount, x) for x in sorted(options) if (price := pricer.price(x.part, last)) is not None
        ]
        for _, choice in sorted(priced)[:CHOICES]:
            only = replace(want, parts=(choice.part,), place=choice.place)
            wants = tuple(only if x == want else x for x in question.wants)
            other = planner.plan(replace(question, wants=wants))
            yield NotBought(
                want=about(want),
                part=choice,
                total=None if other is None else other.total,
                dearer_by=None if other is None else other.total - plan.total,
            )


@dataclass(frozen=True, slots=True)
class _Case:
    """A plan under question. `without` tells for each want what the cheapest plan without it adds."""

    planner: Planner
    question: PathQuestion
    plan: Plan
    problem: Problem
    without: dict[str, frozenset[Placement] | None]

    def reason(self, placed: Placement, visit: int) -> Reason:
        """Say why a part is bought at a visit."""
        met = [x for x in self.problem.demands if placed in x.options]
        entry = next(
            x for x in self.plan.ledger if (x.part, x.place, x.visit) == (placed.part, placed.place, visit)
        )
        group = self._group(placed, visit) if met else frozenset({placed})
        needed = tuple(dict.fromkeys(self._needs(group, visit)))
        paid, wasted = entry.paid or 0, _wasted(entry)
        # What is asked for, or nothing needs at once, may be moved; what a part beside it needs goes where that goes.
        moves = tuple(self._moves(group, visit, met)) if met or not needed else ()
        return Reason(
            part=placed,
            visit=visit,
            wanted=tuple(x.about for x in met),
            due=min((x.since for x in met), default=None),
            needed=needed,
            for_later=tuple(
                want for want, adds in self.without.items() if adds is not None and placed not in adds
            ),
            bundle=entry.bundle,
            moved=moves,
            paid=paid,
            kept=paid - wasted,
            wasted=wasted,
        )

    # --- what needs it ------------------------------------------------------------------------------------------

    def _needs(self, group: Build, visit: int) -> Iterator[Need]:
        """Leave parts out until a build is not valid without them, and see what is refused."""
        for number in range(visit, len(self.plan.visits) + 1):
            if not group <= self.plan.visits[number - 1].build:
                return
            findings = self._refusing(self._left(group, visit, number))
            for finding in findings:
                yield Need(rule=finding.rule, by=tuple(sorted(finding.present)), visit=number)
            if findings:
                return

    def _refusing(self, build: Build) -> tuple[Finding, ...]:
        findings = self.planner.desk.examine(build).findings
        return tuple(x for x in findings if x.status in (Status.REFUSED, Status.UNKNOWN))

    # --- why not at another visit -------------------------------------------------------------------------------

    def _moves(self, group: Build, visit: int, met: list[Demand]) -> Iterator[Moved]:
        for other in range(1, self.problem.last + 1):
            if other != visit:
                yield self._move(group, visit, other, met)

    def _group(self, placed: Placement, visit: int) -> Build:
        """Give a part that is asked for with all of its visit that nothing else there asks for or needs."""
        wanted = frozenset[Placement]().union(*(x.options for x in self.problem.demands))
        beside = frozenset(self.plan.visits[visit - 1].adds) - wanted
        group = beside | {placed}
        while findings := self._refusing(self._left(group, visit, visit)):
            needed = frozenset[Placement]().union(*(x.repairs for x in findings)) & group - {placed}
            if not needed:
                return frozenset({placed})
            group -= needed
        return group

    def _left(self, group: Build, visit: int, number: int) -> Build:
        """Give a build without a group of an earlier visit, and with what it takes the place of."""
        slots = {(x.place, self._slot(x)) for x in group}
        gone = (x for x in self.plan.visits[visit - 1].removes if (x.place, self._slot(x)) in slots)
        return (self.plan.visits[number - 1].build - group) | frozenset(gone)

    def _move(self, group: Build, visit: int, other: int, met: list[Demand]) -> Moved:
        late = [x for x in met if x.since < other]
        if late:
            return Moved(visit=other, outcome="too_late", about=late[0].about)
        unsold = [x for x in sorted(group) if not self.problem.may_add(x, other)]
        if unsold:
            return Moved(visit=other, outcome="not_for_sale", about=str(unsold[0]))
        builds = self._moved_builds(group, visit, other)
        for build in dict.fromkeys(builds[1:]):
            findings = self._refusing(build) if build != self.problem.start else ()
            if findings:
                return Moved(visit=other, outcome="not_valid", about=findings[0].rule)
        return self._priced(builds, other)

    def _moved_builds(self, group: Build, visit: int, other: int) -> tuple[Build, ...]:
        """Give the builds with a group fitted at another visit, and with what it takes the place of gone only then."""
        builds = [self.problem.start, *(x.build for x in self.plan.visits)]
        for k in range(1, len(builds)):
            if visit <= k < other:
                builds[k] = self._left(group, visit, k)
            elif other <= k < visit:
                gone = self._left(group, visit, visit) - self.plan.visits[visit - 1].build
                builds[k] = (builds[k] | group) - gone
        return tuple(builds)

    def _slot(self, placed: Placement) -> str | None:
        return self.planner.desk.bench.part(placed).slot

    def _priced(self, builds: tuple[Build, ...], other: int) -> Moved:
        nothing = (frozenset[Placement](),) * len(builds)
        bare = Schedule(builds=builds, presets=nothing, replugs=nothing)
        found = [
            x for way in settle(self.planner.desk, self.problem, bare).ways if (x := self._lines(bare, way))
        ]
        if not found:
            return Moved(visit=other, outcome="not_valid", about="wiring")
        lines = min(found, key=lambda x: total(line for visit in x for line in visit))
        at_home = self._not_at_home(bare, lines)
        if at_home:
            return Moved(visit=other, outcome="not_at_home", about=at_home)
        return self._told(lines, other)

    def _lines(self, bare: Schedule, way: State) -> tuple[tuple[Line, ...], ...] | None:
        schedule = replace(bare, presets=way.presets, replugs=way.replugs)
        lines = [
            self.planner.desk.pricer.lines(doings_of(schedule, self.problem, k))
            for k in range(1, self.problem.last + 1)
        ]
        return None if None in lines else tuple(x or () for x in lines)

    def _not_at_home(self, schedule: Schedule, lines: tuple[tuple[Line, ...], ...]) -> str:
        """Name work of a visit at home that a home fitter may not do; presets are made in the workshop anyway."""
        pricer = self.planner.desk.pricer
        for k, stage in enumerate(self.question.stages, 1):
            doings = replace(doings_of(schedule, self.problem, k), presets=frozenset())
            work = sorted(x.operation for x in pricer.work(doings) if not pricer.operation(x).home)
            if stage.fitter == "home" and lines[k - 1] and work:
                return work[0]
        return ""

    def _told(self, lines: tuple[tuple[Line, ...], ...], other: int) -> Moved:
        now = [line for visit in self.plan.visits for line in visit.lines]
        then = [line for visit in lines for line in visit]
        by = total(then) - total(now)
        moved = Moved(
            visit=other,
            outcome="dearer" if by > 0 else "cheaper" if by < 0 else "same",
            by=by,
            parts=_sum(then, "part", "bundle") - _sum(now, "part", "bundle"),
            labour=_sum(then, "labour") - _sum(now, "labour"),
            presets=_sum(then, "preset", "freight") - _sum(now, "preset", "freight"),
        )
        for kind, name, short in self._overdrawn(lines):
            return replace(moved, outcome="over_budget", about=f"{kind} {name}", short=short)
        return moved

    def _overdrawn(self, lines: tuple[tuple[Line, ...], ...]) -> Iterator[tuple[CapKind, str, int]]:
        for cap in caps_of(self.question):
            counted = [
                line.total
                for k in cap.visits
                for line in lines[k - 1]
                if line.kind != "resale" or self.question.resale_counts
            ]
            if sum(counted) > cap.most:
                yield cap.kind, cap.about, sum(counted) - cap.most


def _sum(lines: list[Line], *kinds: str) -> int:
    return total(x for x in lines if x.kind in kinds)


def _wasted(entry: LedgerPart) -> int:
    return 0 if entry.stays else max(0, (entry.paid or 0) - entry.resale)
