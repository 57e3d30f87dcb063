"""The whole model of a problem: calendar and money, what to minimise, and how a solution is read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from rules.build import Placement
from rules.plan.bill import Bill
from rules.plan.schedule import ByVisit, Schedule
from rules.plan.solver import negated, new_solver, sum_of

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    from rules.plan.solver import Literal, Sum

VISIT, PIECE, LATER = 2**54, 2**44, 2**35
"""Weights of one visit more, one change more and one visit later: sixty changes in six visits never add up to the next above."""

LOST, LIGHTER = 2**37, 2**13
"""The weight of one minor unit of waste, where changes weigh so many times less than beside visits."""

MOST_VISITS = 16
"""More visits than a path has."""

MOST_WASTE = 2**24
"""Waste up to which it can be weighed together with changes [minor units]."""


class Master(Bill):
    """The model. Candidates, laws and cuts are added as they become known."""

    def build(self, candidates: Iterable[Placement]) -> None:
        """Set up the whole model over these candidates besides what is there."""
        for placed in sorted(self.problem.start):
            self._start(placed)
        for placed in sorted(set(candidates) - self.problem.start):
            self._candidate(placed)
        self.candidates = {placed for placed, _ in self.there}
        self._busy()
        self._slots()
        self._removals()
        self._demands()
        self._masses()
        self._presets()
        self._replugs()
        self._labour()
        self._purchases()
        self._resale()
        self._budgets()

    def total(self) -> Sum:
        """Give the whole cost after resale."""
        return sum_of(self._cost_of(k, resale=True) for k in self.visits)

    def visits_made(self) -> Sum:
        """Give the number of visits in which something is done."""
        return sum_of(self.busy.values())

    def total_and_visits(self) -> Sum:
        """Give the whole cost, then the number of visits."""
        return sum_of([self.total() * MOST_VISITS, self.visits_made()])

    def wasted(self) -> Sum:
        """Give the waste."""
        return sum_of(self.waste)

    def waste_and_pieces(self) -> Sum:
        """Give the waste, then changes as in `pieces` with coarser fingerprints: all of those together never outweigh a unit."""
        wasted = self.wasted()
        if not isinstance(wasted, int):
            bounded = self.model.new_int_var(0, MOST_WASTE, "waste")
            self.model.add(bounded == wasted)
            wasted = bounded
        return sum_of([wasted * LOST, self._pieces(LIGHTER)])

    def visits_and_pieces(self) -> Sum:
        """Give the number of visits, then of changes as in `pieces`: nothing that those add up to outweighs a visit."""
        return sum_of([self.visits_made() * VISIT, self.pieces()])

    def pieces(self) -> Sum:
        """Give the number of changes; of as many the earlier; then by a fingerprint of names, so that no two answers are equal."""
        return self._pieces(1)

    def _pieces(self, lighter: int) -> Sum:
        changes = [*self.add.items(), *self.remove.items()]
        return sum_of(literal * (weight_of(x, k) // lighter) for (x, k), literal in changes)

    def differ(self, schedules: Iterable[Schedule]) -> cp_model.IntVar:
        """Give a literal under which a solution does otherwise than each of these schedules."""
        other = self.model.new_bool_var("other")
        for schedule in schedules:
            self.exclude(schedule, other)
        return other

    def exclude(self, schedule: Schedule, other: cp_model.IntVar) -> None:
        """Say that under a literal a solution does otherwise than this schedule."""
        self._clause([negated(other), *self._otherwise(schedule)])

    def _otherwise(self, schedule: Schedule) -> Iterator[Literal]:
        for (x, k), literal in self.add.items():
            yield negated(literal) if x in schedule.adds(k) else literal
        for (x, k), literal in self.remove.items():
            yield negated(literal) if x in schedule.removes(k) else literal
        for made, literals in ((schedule.presets, self.preset), (schedule.replugs, self.replug)):
            for (x, k), literal in literals.items():
                yield negated(literal) if x in made[k] else literal

    def solve(
        self, objective: Sum | None, assumed: cp_model.IntVar | None = None
    ) -> tuple[str, Schedule | None, int, int]:
        """Minimise an objective, where a literal is assumed to hold.

        Returns: `optimal`, `feasible` (the work limit ended it), `infeasible` or `unknown`; the schedule; its value; the bound.
        """
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        if objective is not None and not isinstance(objective, int):
            self.model.minimize(objective)
        solver = new_solver(len(self.model.proto.variables))
        if assumed is not None:
            self.model.add_assumptions([assumed])
        name = solver.status_name(solver.solve(self.model)).lower()
        self.bench.tables.effort.count("schedules")
        self.bench.tables.effort.count("solver", solver.response_proto.deterministic_time)
        self.model.clear_assumptions()
        if name not in ("optimal", "feasible"):
            return name, None, 0, 0
        value = 0 if objective is None else int(solver.value(objective))
        bound = value if name == "optimal" else round(solver.best_objective_bound)
        return name, self._read(solver), value, bound

    def _read(self, solver: cp_model.CpSolver) -> Schedule:
        def holds(literal: Literal) -> bool:
            return bool(literal) if isinstance(literal, int) else solver.boolean_value(literal)

        builds = tuple(
            frozenset(x for x in self.candidates if holds(self.there[x, k]))
            for k in range(self.problem.last + 1)
        )

        def by_visit(found: Mapping[tuple[Placement, int], Literal]) -> ByVisit:
            return tuple(
                frozenset(x for (x, visit), literal in found.items() if visit == k and holds(literal))
                for k in range(self.problem.last + 1)
            )

        void = frozenset(key for key, literal in self.void.items() if holds(literal))
        return Schedule(
            builds=builds, presets=by_visit(self.preset), replugs=by_visit(self.replug), void=void
        )


def pieces_of(schedule: Schedule) -> int:
    """Give what `pieces` comes to in a schedule."""
    visits = range(1, len(schedule.builds))
    return sum(weight_of(x, k) for k in visits for x in schedule.adds(k) | schedule.removes(k))


def weight_of(placed: Placement, k: int) -> int:
    """Give what one change weighs in `pieces`."""
    return PIECE + k * LATER + _fingerprint(f"{placed} {k}")


@lru_cache(maxsize=10_000)
def _fingerprint(name: str) -> int:
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:4]) >> 4
