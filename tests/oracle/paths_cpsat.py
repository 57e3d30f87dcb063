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

Schedule = frozenset[tuple[int, Placement]]
"""What comes or goes at which visit."""


MOST_VISITS = 8
"""More visits than a question has."""


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
    """All variables of one question. Stage 0 is the bike as it stands; visit k of the question is stage k.

    For comparisons, `free_rewiring` lets wires be moved in any way, and without `stop_gaps` nothing bought goes out again.
    """

    def __init__(
        self,
        world: World,
        question: PathQuestion,
        standing: Standing | None,
        end: float | None = None,
        *,
        free_rewiring: bool = False,
        stop_gaps: bool = True,
    ) -> None:
        self.world = world
        self.question = question
        self.end = end
        self.free_rewiring, self.stop_gaps = free_rewiring, stop_gaps
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
                if not self.stop_gaps and one not in self.world.present:
                    logic.demand(logic.neg(self.remove[one, stage]))
                if one in self.question.locked & self.world.present:
                    logic.demand(self.here[one, stage])
        self._strip_nothing()
        self._grant_wishes()

    def _strip_nothing(self) -> None:
        logic = self.logic
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

    def _grant_wishes(self) -> None:
        for want in self.question.wants:
            serving = [
                one for one in self.universe if one.part in want.parts and want.place in (None, one.place)
            ]
            for stage in range(want.by or self.last, self.last + 1):
                self.logic.demand(self.logic.any_of([self.here[one, stage] for one in serving]))

    def solve(self) -> Solved | None:
        visits = sum(self.logic.number(self.changes[stage]) for stage in self.stages)
        # Money and visits are minimised together, which is quicker: no number of visits comes up to one unit of money.
        both = self._minimum(self.money.total * MOST_VISITS + visits)
        if both is None:
            return None
        total, fewest = divmod(both, MOST_VISITS)
        waste = self.money.waste()
        if not isinstance(waste, int):
            # Every part of it is no less than nothing, which the solver does not see of the whole.
            self.logic.model.add(waste >= 0)
        least = self._minimum(waste, core=False)
        assert least is not None
        return Solved(total, fewest, least)

    def _minimum(self, goal, *, core: bool = True) -> int | None:
        """Minimise a goal and hold it there; None if nothing can be."""
        self.logic.model.minimize(goal)
        solver = self._solver(core=core)
        if solver is None:
            return None
        value = goal if isinstance(goal, int) else solver.value(goal)
        if not isinstance(goal, int):
            self.logic.model.add(goal <= value)
        self._begin_from(solver)
        return value

    def _begin_from(self, solver: cp_model.CpSolver) -> None:
        """Hint at the solution found, for the next goal."""
        hint, values = self.logic.model.proto.solution_hint, list(solver.response_proto.solution)
        hint.vars.clear()
        hint.values.clear()
        hint.vars.extend(range(len(values)))
        hint.values.extend(values)

    def _solver(self, *, core: bool = True) -> cp_model.CpSolver | None:
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        # Measured on large questions: without linear relaxations, and raising the bound core by core, it is quickest by far.
        solver.parameters.linearization_level = 0
        solver.parameters.optimize_with_core = core
        if self.end is not None:
            solver.parameters.max_time_in_seconds = max(0.01, self.end - monotonic())
        status = solver.solve(self.logic.model)
        if self.end is not None and status in {cp_model.FEASIBLE, cp_model.UNKNOWN}:
            raise TimeoutError
        assert status in {cp_model.OPTIMAL, cp_model.INFEASIBLE}, solver.status_name(status)
        return solver if status == cp_model.OPTIMAL else None

    # Schedules ------------------------------------------------------------------------------------

    @cached_property
    def moves(self):
        """Give for every visit and placement the literal that it comes or goes then."""
        return {
            (stage, one): self.logic.any_of([self.add[one, stage], self.remove[one, stage]])
            for stage in self.stages
            for one in self.universe
        }

    def _made(self, solver: cp_model.CpSolver) -> Schedule:
        return frozenset(
            key
            for key, literal in self.moves.items()
            if (literal if isinstance(literal, bool) else solver.boolean_value(literal))
        )

    def schedules(self) -> frozenset[Schedule]:
        """Give every best schedule of fewest changes, after `solve`: what comes or goes at which visit."""
        if self._minimum(sum(self.logic.number(literal) for literal in self.moves.values())) is None:
            return frozenset()
        self.logic.model.clear_objective()
        found: set[Schedule] = set()
        while solver := self._solver():
            made = self._made(solver)
            found.add(made)
            self.logic.demand(
                self.logic.any_of(
                    [self.logic.neg(one) if key in made else one for key, one in self.moves.items()]
                )
            )
        return frozenset(found)

    def cheapest(self) -> tuple[int, Schedule] | None:
        """Give the least total cost, and one schedule that has it."""
        _ = self.moves
        self.logic.model.minimize(self.money.total)
        solver = self._solver()
        return None if solver is None else (solver.value(self.money.total), self._made(solver))

    def cost_of(self, schedule: Schedule) -> int | None:
        """Give what a schedule costs, wired as is cheapest; None if it is not a path."""
        for key, literal in self.moves.items():
            self.logic.demand(literal if key in schedule else self.logic.neg(literal))
        self.logic.model.minimize(self.money.total)
        solver = self._solver()
        return None if solver is None else int(solver.value(self.money.total))
