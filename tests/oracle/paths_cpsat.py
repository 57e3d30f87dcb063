"""The cheapest path as one CP-SAT model: placements, mates and feeds of every stage at once.

Only certain validity is modelled: what nobody knows counts as not passed. Reads the catalog through
`reading`; the logic of the definitions is written here once more, as constraints.
"""

from __future__ import annotations

from functools import cached_property
from typing import NamedTuple

from ortools.sat.python import cp_model

from rules.build import Placement
from rules.question import PathQuestion
from tests.oracle.cpsat_logic import Logic
from tests.oracle.cpsat_money import Money
from tests.oracle.cpsat_things import Things
from tests.oracle.cpsat_wires import Wires
from tests.oracle.reading import World


class Solved(NamedTuple):
    """What is compared of a path."""

    total: int
    visits: int
    waste: int


def cheapest_path(catalog, question: PathQuestion) -> Solved | None:
    """Give the cheapest path's money, visits and waste, or None where there is no path."""
    return PathModel(World(catalog, question.bike, question.found), question).solve()


class PathModel:
    """All variables of one question. Stage 0 is the bike as it stands; visit k of the question is stage k."""

    def __init__(self, world: World, question: PathQuestion) -> None:
        self.world = world
        self.question = question
        self.logic = Logic()
        self.stages = range(1, len(question.stages) + 1)
        self.last = len(question.stages)
        self._draw_placements()
        self._keep_promises()
        self.things = Things(self)
        self.wires = Wires(self)
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
            self.logic.model.minimize(goal)
            solver = cp_model.CpSolver()
            solver.parameters.num_workers = 1
            solver.parameters.random_seed = 1
            status = solver.solve(self.logic.model)
            if status == cp_model.INFEASIBLE:
                assert not values
                return None
            assert status == cp_model.OPTIMAL, solver.status_name(status)
            values.append(solver.value(goal) if not isinstance(goal, int) else goal)
            self.logic.model.add(goal <= values[-1])
        return Solved(*values)
