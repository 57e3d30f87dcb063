"""Walks one given path: whether every step of it is allowed, and what each visit costs."""

from __future__ import annotations

from rules.build import Build
from rules.question import PathQuestion
from tests.oracle.checks_brute import things
from tests.oracle.money_brute import Bill
from tests.oracle.paths_brute import Ride, Search
from tests.oracle.reading import World
from tests.oracle.wirings_brute import present_wirings

_MOST_STEPS = 400
"""More steps than this are not tried: the path given counts as one that cannot be walked."""


def walk(world: World, question: PathQuestion, builds: list[Build]) -> list[Bill | None] | None:
    """Give the bill of every visit (None where it is empty) along the first wirings that go; None if none do.

    Budgets are not asked about.
    """
    return _Walk(world, question, builds).run()


class _Walk:
    def __init__(self, world: World, question: PathQuestion, builds: list[Build]) -> None:
        self.world, self.question, self.builds = world, question, builds
        self.search = Search(world, question)
        self.steps = 0

    def run(self) -> list[Bill | None] | None:
        present = self.world.present
        wiring = next(iter(present_wirings(self.world)), None)
        kept = [one for one in present if one.part in self.world.found.presets and wiring is not None]
        end = self._on(0, Ride(present, wiring, frozenset((one, -1) for one in kept)))
        if end is None:
            return None
        bills = dict(end.bills)
        return [bills.get(number) for number in range(len(self.builds))]

    def _on(self, number: int, ride: Ride) -> Ride | None:
        if number == len(self.builds):
            return ride
        build, search = self.builds[number], self.search
        if not search._wants_hold(build, number):
            return None
        if build == ride.build:
            return self._on(number + 1, ride)
        if not search._may_become(ride, build, number) or search._cut_or_pulled(ride.build, build):
            return None
        if things(self.world, build, frozenset(), self.question.stages[number].on) is not True:
            return None
        return self._through(number, ride, build)

    def _through(self, number: int, ride: Ride, build: Build) -> Ride | None:
        """Try the wirings of the next build, those most like the present one first."""
        before = ride.wiring.mates if ride.wiring else frozenset()
        for wiring in sorted(self.search.sound_wirings(build), key=lambda one: -len(one.mates & before)):
            self.steps += 1
            if self.steps > _MOST_STEPS:
                return None
            if self.search._moves_wires(ride, build, wiring):
                continue
            after = self.search._after(number, ride, build, wiring)
            end = None if after is None else self._on(number + 1, after)
            if end is not None:
                return end
        return None
