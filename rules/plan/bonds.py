"""The bonds that a search has found, and the schedules that they refuse for presets that are not made."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Build, Placement
from rules.desk import Desk
from rules.plan.bond import Binder, Bond
from rules.plan.schedule import Schedule
from rules.plan.settle import State


class Bonds:
    """Learns why schedules lack presets."""

    def __init__(self, desk: Desk) -> None:
        self.desk, self.bench = desk, desk.bench
        self._found: dict[tuple[Placement, Placement | None], list[Bond]] = {}
        self._looked: set[tuple[Placement, Placement | None, Build]] = set()
        self._binder: tuple[Build, Binder] | None = None

    def learn(self, schedule: Schedule, way: State, candidates: Build) -> Iterator[Bond]:
        """Give new bonds: why this way needs the presets that the schedule does not make."""
        for amplifier, k in _unmade(schedule, way):
            yield from self._look(schedule.builds[k], amplifier, None, candidates)
            for pair, j in _changed(schedule, way, amplifier, k):
                yield from self._look(schedule.builds[j], amplifier, pair, candidates)

    def refuse(self, schedule: Schedule, way: State) -> bool:
        """Tell whether the bonds found so far make a preset of this way due, however the schedule is wired."""
        return any(
            self._has(schedule.builds[k], amplifier, None) and self._is_new_chain(schedule, way, amplifier, k)
            for amplifier, k in _unmade(schedule, way)
        )

    def _is_new_chain(self, schedule: Schedule, way: State, amplifier: Placement, k: int) -> bool:
        changes = schedule.adds(k) | schedule.removes(k)
        return (
            amplifier in schedule.adds(k)
            or any(map(self.bench.is_head, changes))
            or any(
                self._has(schedule.builds[j], amplifier, pair)
                for pair, j in _changed(schedule, way, amplifier, k)
            )
        )

    def _has(self, build: Build, amplifier: Placement, pair: Placement | None) -> bool:
        return any(x.holds_in(build) for x in self._found.get((amplifier, pair), ()))

    def _look(
        self, build: Build, amplifier: Placement, pair: Placement | None, candidates: Build
    ) -> Iterator[Bond]:
        wired = frozenset(x for x in build if self.bench.is_wired(x))
        if (amplifier, pair, wired) in self._looked or self._has(build, amplifier, pair):
            return
        self._looked.add((amplifier, pair, wired))
        binder, options = self._binder_of(candidates), self.desk.examine(build).options
        bond = (
            binder.needing(wired, options, amplifier)
            if pair is None
            else binder.feeding(wired, options, amplifier, pair)
        )
        if bond is not None:
            self._found.setdefault((amplifier, pair), []).append(bond)
            yield bond

    def _binder_of(self, candidates: Build) -> Binder:
        if self._binder is None or self._binder[0] != candidates:
            self._binder = candidates, Binder(self.bench, candidates)
        return self._binder[1]


def _unmade(schedule: Schedule, way: State) -> Iterator[tuple[Placement, int]]:
    """Give the presets (amplifier and visit) that a way needs and its schedule does not make."""
    for k in range(1, len(schedule.builds)):
        yield from ((amplifier, k) for amplifier in sorted(way.presets[k] - schedule.presets[k]))


def _changed(schedule: Schedule, way: State, amplifier: Placement, k: int) -> Iterator[tuple[Placement, int]]:
    """Give the pairs that come to an amplifier in a visit, or go from it, each with the visit after which it feeds them."""
    for j, changes in ((k, schedule.adds(k)), (k - 1, schedule.removes(k))):
        option = way.options[j]
        # Of the bike as it was brought no bond speaks: it may be wired in ways that are not sound.
        if option is not None and schedule.builds[j] != schedule.builds[0]:
            fed = {sink.speaker for sink, source in option.feeds.items() if source.owner == amplifier}
            yield from ((pair, j) for pair in sorted(fed & changes))
