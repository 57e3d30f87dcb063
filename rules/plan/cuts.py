"""What a schedule teaches that has sound builds and still is no path: presets that it takes, pairs that get too little power."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial

from rules.build import Build, Placement
from rules.desk import Desk
from rules.electrical.load import exact
from rules.net import Fed, Sink
from rules.plan.feed_law import FeedLaw, feed_law
from rules.plan.master import Master
from rules.plan.problem import Demand, Problem
from rules.plan.schedule import Schedule
from rules.plan.settle import State, meets
from rules.wiring import Option
from rules.wish import most_power, sharers

Cut = Callable[[Master], None]
"""Adds what was learned to a model."""


@dataclass(frozen=True, slots=True)
class Cutter:
    """Draws lessons from refused schedules; every cut is true of the problem.

    Args:
        hopeful: Missing facts are given the benefit of the doubt.
    """

    desk: Desk
    problem: Problem
    hopeful: bool

    # --- presets ------------------------------------------------------------------------------------------------

    def preset_cuts(self, schedule: Schedule, way: State) -> Iterator[Cut]:
        """Say which changes of speakers take the presets that this way needs and the schedule does not make."""
        for k in range(1, self.problem.last + 1):
            for amplifier in sorted(way.presets[k] - schedule.presets[k]):
                for j, changed in ((k, schedule.adds(k)), (k - 1, schedule.removes(k))):
                    for pair in sorted(x for x in changed if self.desk.bench.part(x).kind == "speaker"):
                        yield from self._presets_for(schedule.builds[j], pair, amplifier)

    def _presets_for(self, build: Build, pair: Placement, amplifier: Placement) -> Iterator[Cut]:
        law = self._fed_by(build, pair, amplifier)
        if law is not None:
            # By its plugs alone the amplifier feeds whatever is like this pair.
            for like in sorted(self.desk.bench.kin(pair)):
                yield partial(_preset_cut, amplifier, like, pair, law)

    def _fed_by(self, build: Build, pair: Placement, amplifier: Placement) -> FeedLaw | None:
        """Give where a pair is fed by this amplifier in every wiring; None if it is not so here."""
        if not self.desk.bench.is_chained(amplifier):
            return None
        law = feed_law(self.desk.bench, build, frozenset({pair}))
        return law if law.owners() == {amplifier} else None

    # --- power --------------------------------------------------------------------------------------------------

    def power_cuts(self, build: Build, wired: Build) -> Iterator[tuple[Cut, Build]]:
        """Say which pairs of a build do not get the power wished for, each with what else could feed them better."""
        options = self.desk.examine(build).options
        for demand in self.problem.demands:
            if demand.least_w is not None and not self._is_met(demand, build, options):
                for pair in sorted(demand.options & build):
                    found = list(self._weak_feeds(build, pair, demand, options))
                    yield from found or [(partial(_forbid_later, demand.since, build, wired), frozenset())]

    def _is_met(self, demand: Demand, build: Build, options: tuple[Option, ...]) -> bool:
        return any(
            meets(self.desk, option, x, demand.least_w or 0.0, hopeful=self.hopeful)
            for option in options
            for x in demand.options & build
        )

    def _weak_feeds(
        self, build: Build, pair: Placement, demand: Demand, options: tuple[Option, ...]
    ) -> Iterator[tuple[Cut, Build]]:
        """Say that a pair, and those like it, get too little: alone on their channel, or beside those that share it now."""
        bench = self.desk.bench
        sharing = frozenset(x for option in options for x in sharers(option, pair))
        for pairs in (frozenset({pair}), sharing | {pair}):
            law = feed_law(bench, build, pairs)
            weak = [
                x
                for x in sorted(bench.kin(pair) & demand.options)
                if law.ways and all(self._is_too_weak(way, pair, x, demand) for way in law.ways)
            ]
            if pair in weak:
                yield from ((partial(_power_cut, demand, x, pair, law), law.absent) for x in weak)
                return

    def _is_too_weak(
        self, way: Mapping[Sink, Fed], pair: Placement, instead: Placement, demand: Demand
    ) -> bool:
        most = most_power(self.desk.bench, way, pair, instead)
        return most is not None and most < exact(demand.least_w or 0.0)


def _preset_cut(amplifier: Placement, pair: Placement, like: Placement, law: FeedLaw, master: Master) -> None:
    master.require_preset(amplifier, pair, like, law)


def _power_cut(demand: Demand, pair: Placement, like: Placement, law: FeedLaw, master: Master) -> None:
    master.forbid_weak_feed(demand, pair, like, law)


def _forbid_later(since: int, build: Build, wired: Build, master: Master) -> None:
    for k in range(since, master.problem.last + 1):
        master.forbid({k: build}, wired)
