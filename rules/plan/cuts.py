"""What a schedule teaches that has sound builds and still is no path: presets, zones that move, pairs with too little power."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from rules.build import Build, Placement
from rules.changes import is_moved, successor_of
from rules.desk import Desk
from rules.electrical.load import exact
from rules.net import Fed, Sink
from rules.plan.bond import Bond
from rules.plan.feed_law import FeedLaw, Feeds, FeedsByAmplifier, feed_law, feeds_of
from rules.plan.master import Master
from rules.plan.problem import Demand, Problem
from rules.plan.settle import meets
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

    def feeding_cut(self, build: Build) -> Cut | None:
        """Say what amplifiers that may need presets feed in a build, in one wiring or another."""
        bench, now = self.desk.bench, self.desk.examiner.present_wirings
        found = feeds_of(bench, build, self.desk.examine(build).options)
        return partial(_feeding_cut, build, found, feeds_of(bench, bench.present, now)) if found else None

    def bond_cut(self, bond: Bond) -> Cut:
        """Say what an amplifier does wherever a bond holds."""
        bench, now = self.desk.bench, self.desk.examiner.present_wirings
        return partial(_bond_cut, bond, feeds_of(bench, bench.present, now).get(bond.amplifier, ()))

    # --- moves --------------------------------------------------------------------------------------------------

    def move_cuts(self, before: Build, after: Build) -> Iterator[Cut]:
        """Say which zones a step moves off their amplifier channels, whatever the wirings are."""
        bench = self.desk.bench
        speakers = {x.place: x for x in before if bench.part(x).kind == "speaker"}
        for pair in sorted(x for x in after if bench.part(x).kind == "speaker" and x.place in speakers):
            old = feed_law(bench, before, frozenset({speakers[pair.place]}))
            new = feed_law(bench, after, frozenset({pair}))
            holders = self._holders(old, after)
            if holders is not None and old.ways and new.ways and self._always_moves(old, new, after):
                yield partial(_move_cut, old, new, holders)

    def _holders(self, old: FeedLaw, after: Build) -> tuple[tuple[Placement, bool], ...] | None:
        """Give what must be there, and what must not, for the old channels to be binding; None if they are not."""
        found: list[tuple[Placement, bool]] = []
        for owner in sorted(old.owners()):
            successor = successor_of(self.desk.bench, owner, after)
            if owner in after:
                found.append((owner, True))
            elif successor is None:
                return None
            else:
                found += [(owner, False), (successor, True)]
        return tuple(found)

    def _always_moves(self, old: FeedLaw, new: FeedLaw, after: Build) -> bool:
        return all(self._moves(one, other, after) for one in old.ways for other in new.ways)

    def _moves(self, old: Mapping[Sink, Fed], new: Mapping[Sink, Fed], after: Build) -> bool:
        now = {sink.side: (fed.owner, fed.channel.id) for sink, fed in new.items()}
        return any(
            is_moved(self.desk.bench, (fed.owner, fed.channel.id), now[sink.side], after)
            for sink, fed in old.items()
            if sink.side in now
        )

    # --- power --------------------------------------------------------------------------------------------------

    def power_cuts(self, build: Build) -> Iterator[tuple[Cut, Build]]:
        """Say which pairs of a build do not get the power wished for, each with what else could feed them better."""
        options = self.desk.examine(build).options
        for demand in self.problem.demands:
            if demand.least_w is not None and not self._is_met(demand, build, options):
                for pair in sorted(demand.options & build):
                    found = list(self._weak_feeds(build, pair, demand, options))
                    yield from found or [(partial(_forbid_later, demand.since, build), frozenset())]

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


def _feeding_cut(build: Build, found: FeedsByAmplifier, now: FeedsByAmplifier, master: Master) -> None:
    master.tell_feeding(build, found, now)


def _bond_cut(bond: Bond, now: Sequence[Feeds], master: Master) -> None:
    master.bind(bond, now)


def _move_cut(
    old: FeedLaw, new: FeedLaw, holders: tuple[tuple[Placement, bool], ...], master: Master
) -> None:
    master.forbid_move(old, new, holders)


def _power_cut(demand: Demand, pair: Placement, like: Placement, law: FeedLaw, master: Master) -> None:
    master.forbid_weak_feed(demand, pair, like, law)


def _forbid_later(since: int, build: Build, master: Master) -> None:
    for k in range(since, master.problem.last + 1):
        master.forbid({k: build})
