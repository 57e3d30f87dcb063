"""The cheapest path as one CP-SAT model: placements, mates and feeds of every stage at once.

Only certain validity is modelled: what nobody knows counts as not passed. Reads the catalog through
`reading`; the logic of the definitions is written here once more, as constraints.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cached_property
from time import monotonic
from typing import NamedTuple

from ortools.sat.python import cp_model

from rules.build import Placement
from rules.question import PathQuestion
from tests.oracle.cpsat_logic import Logic
from tests.oracle.cpsat_money import Money
from tests.oracle.cpsat_things import Things
from tests.oracle.cpsat_wires import Standing, Wires, standing_wirings
from tests.oracle.reading import MOST_PRESENT, World


class Solved(NamedTuple):
    """What is compared of a path."""

    total: int
    visits: int
    waste: int


def cheapest_path(catalog, question: PathQuestion, seconds: float | None = None) -> Solved | None:
    """Give the cheapest path's money, visits and waste, or None where there is no path, or the present wirings differ.

    Raises: TimeoutError, where the seconds for this question are over before there is a proof.

    Where their schedules may be equal or not by the last choice among equals, the answer is not for this model to tell.
    """
    world = World(catalog, question.bike, question.found)
    end = None if seconds is None else monotonic() + seconds
    ways = standing_wirings(world)
    if len(ways) > MOST_PRESENT:
        return None
    if len(ways) < 2:
        return PathModel(world, question, ways[0] if ways else None, end).solve()
    models = [PathModel(replace(world, now=way.mates), question, way, end) for way in ways]
    answers = [(model.solve(), model.schedules()) for model in models]
    first, others = answers[0], answers[1:]
    if all(answer == first for answer in others):
        return first[0]
    if all(solved and first[0] and solved.total == first[0].total for solved, _ in others):
        assert not frozenset.intersection(*(schedules for _, schedules in answers))
    return None


class PathModel:
    """All variables of one question. Stage 0 is the bike as it stands; visit k of the question is stage k."""

    def __init__(
        self, world: World, question: PathQuestion, standing: Standing | None, end: float | None = None
    ) -> None:
        self.world = world
        self.question = question
        self.end = end
        self.logic = Logic()
        self.stages = range(1, len(question.stages) + 1)
        self.last = len(question.stages)
        self._draw_placements()
        self._keep_promises()
        self.things = Things(self)
        self.wires = Wires(self, standing)
        self.money = Money(self)

    def day(self, stage: int):
        return self.question.stages[stage - 1].on

    @cached_property
    def universe(self) -> list[Placement]:
        buyable = [
            one
            for one in self.world.placeable
            if one.part not in self.question.excluded
            and any(self.world.for_sale(one.part, self.day(stage)) for stage in self.stages)
        ]
        return sorted(self.world.present.union(buyable))

    def _draw_placements(self) -> None:
        logic, present = self.logic, self.world.present
        self.here = {(one, 0): one in present for one in self.universe}
        self.add, self.remove, self.changes, self.started = {}, {}, {}, {0: False}
        for stage in self.stages:
            for one in self.universe:
                self.here[one, stage] = here = logic.fresh()
                before = self.here[one, stage - 1]
                self.add[one, stage] = logic.all_of([here, logic.neg(before)])
                self.remove[one, stage] = logic.all_of([logic.neg(here), before])
            moved = [change[one, stage] for one in self.universe for change in (self.add, self.remove)]
            self.changes[stage] = logic.any_of(moved)
            self.started[stage] = logic.any_of([self.started[stage - 1], self.changes[stage]])

    def _keep_promises(self) -> None:
        logic = self.logic
        for one in self.universe:
            comings = [one in self.world.present, *(self.add[one, stage] for stage in self.stages)]
            logic.model.add(sum(logic.number(coming) for coming in comings) <= 1)
            for stage in self.stages:
                if not self.world.for_sale(one.part, self.day(stage)) or one.part in self.question.excluded:
                    logic.demand(logic.neg(self.add[one, stage]))
                if one in self.question.locked & self.world.present:
                    logic.demand(self.here[one, stage])
        for stage in self.stages:
            for one in self.universe:
                if one not in self.question.may_go and one.part not in self.question.allowed_rewiring:
                    beside = [
                        self.add[other, stage]
                        for other in self.universe
                        if other.place == one.place
                        and any(
                            other.part in want.parts and want.place in (None, other.place)
                            for want in self.question.wants
                        )
                    ]
                    logic.demand(logic.any_of([logic.neg(self.remove[one, stage]), *beside]))
        for want in self.question.wants:
            serving = [
                one for one in self.universe if one.part in want.parts and want.place in (None, one.place)
            ]
            for stage in range(want.by or self.last, self.last + 1):
                logic.demand(logic.any_of([self.here[one, stage] for one in serving]))

    def solve(self) -> Solved | None:
        visits = sum(self.logic.number(self.changes[stage]) for stage in self.stages)
        goals = (self.money.total, visits, self.money.waste)
        values: list[int] = []
        for goal in goals:
            value = self._minimum(goal)
            if value is None:
                assert not values
                return None
            values.append(value)
        return Solved(*values)

    def _minimum(self, goal) -> int | None:
        """Minimise a goal and hold it there; None if nothing can be."""
        self.logic.model.minimize(goal)
        solver = self._solver()
        if solver is None:
            return None
        value = goal if isinstance(goal, int) else solver.value(goal)
        self.logic.model.add(goal <= value)
        return value

    def _solver(self) -> cp_model.CpSolver | None:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        if self.end is not None:
            solver.parameters.max_time_in_seconds = max(0.01, self.end - monotonic())
        status = solver.solve(self.logic.model)
        if self.end is not None and status in {cp_model.FEASIBLE, cp_model.UNKNOWN}:
            raise TimeoutError
        assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}, solver.status_name(status)
        return solver if status == cp_model.OPTIMAL else None

    def schedules(self) -> frozenset[frozenset[tuple[int, Placement]]]:
        """Give every best schedule of fewest changes, after `solve`: what comes or goes at which visit."""
        moves = {
            (stage, one): self.logic.any_of([self.add[one, stage], self.remove[one, stage]])
            for stage in self.stages
            for one in self.universe
        }
        if self._minimum(sum(self.logic.number(literal) for literal in moves.values())) is None:
            return frozenset()
        self.logic.model.clear_objective()
        found: set[frozenset[tuple[int, Placement]]] = set()
        while solver := self._solver():
            made = {
                key: literal if isinstance(literal, bool) else solver.boolean_value(literal)
                for key, literal in moves.items()
            }
            found.add(frozenset(key for key, is_made in made.items() if is_made))
            self.logic.demand(
                self.logic.any_of(
                    [self.logic.neg(moves[key]) if is_made else moves[key] for key, is_made in made.items()]
                )
            )
        return frozenset(found)
