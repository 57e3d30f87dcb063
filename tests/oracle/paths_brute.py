"""The cheapest path by trying every build and wiring, visit by visit (sections 3, 5 and 6)."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations, product
from typing import Any, NamedTuple

from rules.build import Build, Placement
from rules.question import PathQuestion
from tests.oracle.checks_brute import electrics, needing_preset, things
from tests.oracle.money_brute import Bill, Step, Work, bill
from tests.oracle.reading import MOST_PRESENT, World
from tests.oracle.steps_brute import (
    amplified,
    cuts_or_pulls,
    is_amplifier,
    moves_sides,
    replugged,
    sides,
)
from tests.oracle.wirings_brute import Wiring, present_wirings, wirings

Schedule = frozenset[tuple[int, Placement]]
"""What comes or goes at which visit."""


class Outcome(NamedTuple):
    """What is compared of a path."""

    total: int
    visits: int
    waste: int


class TieError(Exception):
    """The present wirings agree or not by a choice among equals that the page of definitions leaves to a fingerprint."""


@dataclass(frozen=True)
class Told:
    """What one present wiring has to say: the best outcome, and every schedule of fewest changes that has it."""

    outcome: Outcome | None
    schedules: frozenset[Schedule] = frozenset()
    pays_replugs: bool = False
    """Some cheapest path holds re-plug labour."""
    is_split: bool = False
    """There is no path because the bike may be wired in several ways."""


@dataclass(frozen=True)
class Ride:
    """How far a path has come: the build that is ridden, and what of the past still matters."""

    build: Build
    wiring: Wiring | None
    presets: frozenset[tuple[Placement, int]]
    """Amplifiers whose preset is in force, with the stage in which it was made."""
    returned: frozenset[tuple[str, str]] = frozenset()
    """Zone sides that went from an amplifier back to another source."""
    gone: frozenset[Placement] = frozenset()
    bills: tuple[tuple[int, Bill], ...] = ()
    added: tuple[tuple[Placement, int], ...] = ()


def cheapest_path(catalog, question: PathQuestion) -> Outcome | None:
    """Give the cheapest path's money, visits and waste, or None where there is no path."""
    return tell(catalog, question).outcome


def tell(catalog, question: PathQuestion) -> Told:
    """Ask once for each way in which the bike may be wired now."""
    world = World(catalog, question.bike, question.found)
    ways = present_wirings(world)
    if len(ways) > MOST_PRESENT:
        return Told(None, is_split=True)
    worlds = [replace(world, now=way.mates) for way in ways] or [world]
    return _agreed([Search(one, question).run() for one in worlds])


def _agreed(told: list[Told]) -> Told:
    first = told[0]
    if len({(one.outcome, one.schedules) for one in told}) == 1:
        return replace(first, pays_replugs=any(one.pays_replugs for one in told))
    totals = {one.outcome and one.outcome.total for one in told}
    if len(totals) > 1 or not first.schedules.intersection(*(one.schedules for one in told)):
        return Told(None, is_split=True)
    raise TieError


@dataclass
class Search:
    """One search. It remembers what a build's wirings and a change's bill are, and nothing else."""

    world: World
    question: PathQuestion
    best: Outcome | None = None
    fewest: int = 0
    schedules: set[Schedule] = field(default_factory=set)
    pays_replugs: bool = False
    _bills: dict[Any, Any] = field(default_factory=dict)
    _sound: dict[Any, Any] = field(default_factory=dict)

    def run(self) -> Told:
        present, found = self.world.present, self.world.found
        wiring = next(iter(present_wirings(self.world)), None)
        kept = [one for one in present if one.part in found.presets and wiring is not None]
        self._ride(0, Ride(present, wiring, frozenset((one, -1) for one in kept)))
        return Told(self.best, frozenset(self.schedules), self.pays_replugs)

    # Which builds ---------------------------------------------------------------------------------

    @cached_property
    def builds(self) -> list[Build]:
        """Give every build that holds the locked parts and passes all checks of things."""
        present = self.world.present
        slots: dict[tuple[str, str], list[Placement]] = {}
        for one in sorted(present | self.candidates):
            slots.setdefault(self.world.slot(one), []).append(one)
        choices = [
            _fillings(ones, self.world.capacity(slot), self.question.locked & present)
            for slot, ones in slots.items()
        ]
        builds = (frozenset().union(*choice) for choice in product(*choices))
        day = self.question.stages[0].on
        return [build for build in builds if things(self.world, build, frozenset(), day) is True]

    @cached_property
    def candidates(self) -> frozenset[Placement]:
        days = [stage.on for stage in self.question.stages]
        return frozenset(
            one
            for one in self.world.placeable
            if one not in self.world.present
            and one.part not in self.question.excluded
            and any(self.world.for_sale(one.part, day) for day in days)
        )

    def sound_wirings(self, build: Build):
        """Give the wirings with which a build is valid, presets aside."""
        if build not in self._sound:
            every = wirings(self.world, build)
            self._sound[build] = [one for one in every if electrics(self.world, build, one) is True]
        return self._sound[build]

    # One stage after the other --------------------------------------------------------------------

    def _ride(self, number: int, ride: Ride) -> None:
        if number == len(self.question.stages):
            self._arrive(ride)
            return
        if self._wants_hold(ride.build, number):
            self._ride(number + 1, ride)
        for build in self.builds:
            if (
                build != ride.build
                and self._may_become(ride, build, number)
                and self._wants_hold(build, number)
            ):
                self._change(number, ride, build)

    def _change(self, number: int, ride: Ride, build: Build) -> None:
        step = Step(build - ride.build, ride.build - build)
        if self._cut_or_pulled(ride.build, build) or self._bill(number, step, frozenset()) is None:
            return
        for wiring in self.sound_wirings(build):
            if not self._moves_wires(ride, build, wiring):
                after = self._after(number, ride, build, wiring)
                if after is not None and self._affordable(after) and not self._hopeless(after):
                    self._ride(number + 1, after)

    def _may_become(self, ride: Ride, build: Build, number: int) -> bool:
        day = self.question.stages[number].on
        added = build - ride.build
        worked_at = {one.place for one in added if self._is_wanted(one)}
        stripped = any(one.place not in worked_at for one in ride.build - build if not self._is_let_go(one))
        if stripped or added & ride.gone:
            return False
        return all(self.world.for_sale(one.part, day) for one in added)

    def _is_let_go(self, one: Placement) -> bool:
        return one in self.question.may_go or one.part in self.question.allowed_rewiring

    def _is_wanted(self, one: Placement) -> bool:
        return any(one.part in want.parts and want.place in (None, one.place) for want in self.question.wants)

    def _wants_hold(self, build: Build, number: int) -> bool:
        last = len(self.question.stages)
        return all(
            any(one.part in want.parts and want.place in (None, one.place) for one in build)
            for want in self.question.wants
            if number + 1 >= (want.by or last)
        )

    # What is rewired ------------------------------------------------------------------------------

    def _cut_or_pulled(self, before: Build, after: Build) -> bool:
        parts = cuts_or_pulls(self.world, before, after)
        return any(one.part not in self.question.allowed_rewiring for one in parts)

    def _moves_wires(self, ride: Ride, build: Build, wiring: Wiring) -> bool:
        after = sides(wiring)
        if any(is_amplifier(self.world, after[side][0]) for side in ride.returned & after.keys()):
            return True
        return moves_sides(self.world, ride.build, ride.wiring, build, wiring)

    # What it costs --------------------------------------------------------------------------------

    def _after(self, number: int, ride: Ride, build: Build, wiring: Wiring) -> Ride | None:
        kept = frozenset(
            one for one in ride.presets if one[0] in build and self._same_chain(ride, build, wiring, one[0])
        )
        made = needing_preset(self.world, build, wiring) - {one for one, _ in kept}
        moved = replugged(ride.build, ride.wiring, build, wiring)
        step = Step(build - ride.build, ride.build - build, moved)
        cost = self._bill(number, step, frozenset(made))
        if cost is None:
            return None
        returned = amplified(self.world, ride.wiring) & (sides(wiring).keys() - amplified(self.world, wiring))
        return Ride(
            build,
            wiring,
            kept | {(one, number) for one in made},
            ride.returned | returned,
            ride.gone | (ride.build - build),
            (*ride.bills, (number, cost)),
            (*ride.added, *((one, number) for one in sorted(build - ride.build))),
        )

    def _bill(self, number: int, step: Step, made):
        key = number, step, made
        if key not in self._bills:
            stage = self.question.stages[number]
            self._bills[key] = bill(self.world, stage.on, stage.fitter, step, made, path=True)
        return self._bills[key]

    def _same_chain(self, ride: Ride, build: Build, wiring: Wiring, amplifier: Placement):
        if ride.wiring is None:
            return False
        return _chain(self.world, ride.build, ride.wiring, amplifier) == _chain(
            self.world, build, wiring, amplifier
        )

    def _affordable(self, ride: Ride) -> bool:
        number, cost = ride.bills[-1]
        budget = self.question.stages[number].budget
        if budget is not None and self._counted(cost) > budget:
            return False
        # Where resale counts, a later stage may still bring the year and the whole back under their caps.
        return self.question.resale_counts or self._within_caps(ride)

    def _counted(self, cost: Bill) -> int:
        return cost.spent - (cost.back if self.question.resale_counts else 0)

    def _within_caps(self, ride: Ride) -> bool:
        years: dict[int, int] = {}
        for number, cost in ride.bills:
            year = self.question.stages[number].on.year
            years[year] = years.get(year, 0) + self._counted(cost)
        caps = self.question.year_budgets
        if any(spent > caps[year] for year, spent in years.items() if year in caps):
            return False
        return self.question.budget is None or sum(years.values()) <= self.question.budget

    def _hopeless(self, ride: Ride) -> bool:
        return self.best is not None and _total(ride) - self._most_resale > self.best.total

    @cached_property
    def _most_resale(self) -> int:
        lists = self.world.catalog.price_lists
        every = self.world.present | self.candidates
        return sum(
            max((one.resale.get(placement.part, 0) for one in lists), default=0) for placement in every
        )

    # At the end -----------------------------------------------------------------------------------

    def _arrive(self, ride: Ride) -> None:
        if not self._within_caps(ride):
            return
        outcome = Outcome(_total(ride), len(ride.bills), _waste(self.world, ride))
        schedule = _schedule(ride)
        if self.best is None or (outcome, len(schedule)) < (self.best, self.fewest):
            self.best, self.fewest, self.schedules, self.pays_replugs = outcome, len(schedule), set(), False
        if (outcome, len(schedule)) == (self.best, self.fewest):
            self.schedules.add(schedule)
            self.pays_replugs |= any(self._is_replug(work) for _, cost in ride.bills for work in cost.work)

    def _is_replug(self, work: Work):
        return self.world.rule(work.operation).action == "replug"


def _schedule(ride: Ride) -> Schedule:
    out = {(number, one) for number, cost in ride.bills for one in cost.resale}
    return frozenset(out | {(number, one) for one, number in ride.added})


def _total(ride: Ride) -> int:
    return sum(cost.spent - cost.back for _, cost in ride.bills)


def _waste(world: World, ride: Ride) -> int:
    """Add up what is gone at the end of a path, with the purchases covered in the way that wastes least."""
    waste = 0
    for number, cost in ride.bills:
        bought = [one for one, when in ride.added if when == number]
        waste += min(_purchase_waste(ride, bought, cover) for cover in cost.covers)
        waste += sum(price for one, price in cost.presets.items() if (one, number) not in ride.presets)
        waste += sum(work.amount for work in cost.work if work.serves and not work.serves & ride.build)
    return waste


def _purchase_waste(ride: Ride, bought, cover):
    fetched = {one: back for _, cost in ride.bills for one, back in cost.resale.items()}
    lost = [max(0, cover.paid[one.part] - fetched[one]) for one in bought if one not in ride.build]
    return sum(lost) + sum(cover.wasted)


def _fillings(ones: list[Placement], capacity: int, locked: Build) -> list[Build]:
    """Give every way to fill one slot that keeps what is locked there."""
    every = [frozenset(some) for size in range(capacity + 1) for some in combinations(ones, size)]
    return [some for some in every if locked & set(ones) <= some]


def _chain(world: World, build: Build, wiring: Wiring, amplifier: Placement):
    """Give what a preset is made for."""
    heads = {one for one in build if world.part(one).kind == "head_unit"}
    hosted = {
        one
        for one in build
        for head in heads
        if head.place == one.place and head.part in world.part(one).host
    }
    return heads, hosted, {feed.sink.speaker for feed in wiring.feeds if feed.source == amplifier}
