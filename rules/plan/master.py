"""The whole model of a problem: calendar and money, what to minimise, and how a solution is read."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping

from ortools.sat.python import cp_model

from rules.build import Placement
from rules.plan.bill import Bill
from rules.plan.calendar import Literal, Sum, negated, new_solver, sum_of
from rules.plan.schedule import ByVisit, Schedule

VISIT, PIECE, LATER = 2**54, 2**44, 2**35
"""Weights of one visit more, one change more and one visit later: sixty changes in six visits never add up to the next above."""


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

    def wasted(self) -> Sum:
        """Give the waste."""
        return sum_of(self.waste)

    def visits_and_pieces(self) -> Sum:
        """Give the number of visits, then of changes as in `pieces`: nothing that those add up to outweighs a visit."""
        return sum_of([self.visits_made() * VISIT, self.pieces()])

    def pieces(self) -> Sum:
        """Give the number of changes; of as many the earlier; then by a fingerprint of names, so that no two answers are equal."""
        changes = [*self.add.items(), *self.remove.items()]
        return sum_of(literal * (PIECE + k * LATER + _fingerprint(f"{x} {k}")) for (x, k), literal in changes)

    def solve(self, objective: Sum | None) -> tuple[str, Schedule | None, int, int]:
        """Minimise an objective.

        Returns: `optimal`, `feasible` (the work limit ended it), `infeasible` or `unknown`; the schedule; its value; the bound.
        """
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        if objective is not None and not isinstance(objective, int):
            self.model.minimize(objective)
        solver = new_solver(len(self.model.proto.variables))
        status = solver.solve(self.model)
        name = {
            cp_model.OPTIMAL: "optimal",
            cp_model.FEASIBLE: "feasible",
            cp_model.INFEASIBLE: "infeasible",
        }.get(status, "unknown")
        if name in ("infeasible", "unknown"):
            return name, None, 0, 0
        value = (
            objective
            if isinstance(objective, int)
            else round(solver.objective_value)
            if objective is not None
            else 0
        )
        bound = value if name == "optimal" else round(solver.best_objective_bound)
        return name, self._read(solver), value, bound

    def has_another(self) -> bool:
        """Tell whether the model has another solution than the last, as far as money goes; True also if that is not sure."""
        other = self.model.new_bool_var("other")
        differing = [negated(x) if made else x for x, made in zip(self._choices(), self._made, strict=True)]
        self._clause([negated(other), *differing])
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        self.model.add_assumptions([other])
        status = new_solver(len(self.model.proto.variables)).solve(self.model)
        self.model.clear_assumptions()
        return status != cp_model.INFEASIBLE

    def _choices(self) -> list[Literal]:
        """Give all that a schedule decides, and how its parts are bought."""
        decided = (self.add, self.remove, self.preset, self.replug)
        return [*(x for literals in decided for x in literals.values()), *self.buys]

    def _read(self, solver: cp_model.CpSolver) -> Schedule:
        def holds(literal: Literal) -> bool:
            return bool(literal) if isinstance(literal, int) else solver.boolean_value(literal)

        self._made = [holds(x) for x in self._choices()]
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


def _fingerprint(name: str) -> int:
    return int.from_bytes(hashlib.sha256(name.encode()).digest()[:4]) >> 4
