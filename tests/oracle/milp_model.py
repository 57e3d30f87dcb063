"""The frame of the mixed-integer model: when every placement comes and goes, as one choice of an interval.

A placement that the bike has not comes at one visit and goes at a later one, or stays: one variable for each such interval and
each way of buying it (singly, or out of a bundle). Whether it is there after a visit is a sum of these, and so is what selling
it on loses. Everything that is known must be known for certain: this model is for questions without unknown facts.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from ortools.math_opt.python import mathopt

from rules.build import Placement
from rules.question import PathQuestion
from tests.oracle.reading import World

SINGLY = ""
"""The way to buy a part outside a bundle; and the way of what nobody buys, since the bike has it."""
NEVER = 99
"""The visit at which goes what stays."""


class Span(NamedTuple):
    """A placement from the visit at which it comes (0: it is there now) to the one at which it goes, bought in some way."""

    one: Placement
    come: int
    go: int
    way: str


class Frame:
    """Variables for spans, busy visits and the first visit, and linear sums of them."""

    def __init__(self, world: World, question: PathQuestion) -> None:
        self.world, self.question = world, question
        self.model = mathopt.Model()
        self.last = len(question.stages)
        self.stages = range(1, self.last + 1)
        self.placements = self._placements()
        self.spans: dict[Span, Any] = {
            span: self.binary() for one in self.placements for span in self._spans(one)
        }
        self._by_one: dict[Placement, list[Span]] = {one: [] for one in self.placements}
        for span in self.spans:
            self._by_one[span.one].append(span)
        for one, mine in self._by_one.items():
            total = self.sum(self.spans[span] for span in mine)
            self.model.add_linear_constraint(total == 1 if one in world.present else total <= 1)
        self.busy = {stage: self.binary() for stage in self.stages}
        self.started: dict[int, Any] = {0: 0}
        for stage in self.stages:
            self._mark(stage)

    def day(self, stage: int):
        return self.question.stages[stage - 1].on

    def part(self, one: Placement):
        return self.world.part(one)

    # Pieces ---------------------------------------------------------------------------------------

    def binary(self):
        return self.model.add_binary_variable()

    def share(self):
        """Give a variable from 0 to 1 that other constraints make whole."""
        return self.model.add_variable(lb=0.0, ub=1.0)

    def sum(self, terms: Iterable[Any]):
        return mathopt.fast_sum(list(terms))

    def demand(self, constraint) -> None:
        """Add a constraint; one without any variable must hold as it is."""
        if isinstance(constraint, bool):
            if not constraint:
                self.model.add_linear_constraint(lb=1.0, ub=1.0)
        else:
            self.model.add_linear_constraint(constraint)

    def all_of(self, terms: list[Any]):
        """Give a term that is 1 exactly when all terms are."""
        if not terms:
            return 1
        whole = self.share()
        for term in terms:
            self.demand(whole <= term)
        self.demand(whole >= self.sum(terms) - (len(terms) - 1))
        return whole

    def any_of(self, terms: list[Any]):
        """Give a term that is 1 exactly when some term is."""
        return 1 - self.all_of([1 - term for term in terms])

    # What comes and goes --------------------------------------------------------------------------

    def _placements(self) -> list[Placement]:
        world, question = self.world, self.question
        offered = {
            one
            for one in world.placeable
            if one.part not in question.excluded
            and any(world.for_sale(one.part, self.day(stage)) for stage in self.stages)
        }
        return sorted(world.present | offered)

    def _spans(self, one: Placement):
        world, question = self.world, self.question
        if one in world.present:
            ends = [NEVER] if one in question.locked else [*self.stages, NEVER]
            yield from (Span(one, 0, go, SINGLY) for go in ends)
            return
        if one.part in question.excluded:
            return
        for come in self.stages:
            if world.for_sale(one.part, self.day(come)):
                for way in (SINGLY, *self.bundles_with(one.part, come)):
                    for go in (*range(come + 1, self.last + 1), NEVER):
                        yield Span(one, come, go, way)

    def bundles_with(self, part: str, stage: int) -> list[str]:
        every = self.world.catalog.parts.values()
        return [
            bundle.id
            for bundle in every
            if part in bundle.members and self.world.for_sale(bundle.id, self.day(stage))
        ]

    def here(self, one: Placement, stage: int):
        return self.sum(self.spans[span] for span in self._by_one[one] if span.come <= stage < span.go)

    def add(self, one: Placement, stage: int):
        return self.sum(self.spans[span] for span in self._by_one[one] if span.come == stage)

    def remove(self, one: Placement, stage: int):
        return self.sum(self.spans[span] for span in self._by_one[one] if span.go == stage)

    def stays_from(self, one: Placement, stage: int):
        """Give a sum that is 1 when the placement comes at a visit and is there at the end."""
        return self.sum(
            self.spans[span] for span in self._by_one[one] if span.come == stage and span.go == NEVER
        )

    def _mark(self, stage: int) -> None:
        moves = []
        for one in self.placements:
            moves += [self.add(one, stage), self.remove(one, stage)]
            self.demand(self.busy[stage] >= self.add(one, stage))
            self.demand(self.busy[stage] >= self.remove(one, stage))
        self.demand(self.busy[stage] <= self.sum(moves))
        self.started[stage] = started = self.share()
        self.demand(started >= self.started[stage - 1])
        self.demand(started >= self.busy[stage])
        self.demand(started <= self.started[stage - 1] + self.busy[stage])
