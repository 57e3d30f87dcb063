"""Re-plugging and rewiring in the CP-SAT model."""

from __future__ import annotations

from functools import cached_property
from itertools import combinations
from typing import Any

from rules.build import Placement
from tests.oracle.cpsat_feeds import Channel, Feeds
from tests.oracle.reading import Mate, Node

Zone = tuple[str, str]
"""A place, and a side of it."""


class Moves:
    """Forbids what is rewired and not allowed; `replugged` tells which placements are re-plugged."""

    def __init__(self, path, feeds: Feeds) -> None:
        self.path, self.world, self.logic, self.feeds = path, path.world, path.logic, feeds
        self._replugs: dict[Any, Any] = {}
        self._driven: dict[Any, Any] = {}
        self._lost: dict[Any, Any] = {}
        if not path.free_rewiring:
            for stage in path.stages:
                self._forbid_cuts_and_pulls(stage)
                self._keep_channels(stage)
            self._forbid_second_moves()

    # Re-plugging ----------------------------------------------------------------------------------

    def replugged(self, one: Placement, stage: int):
        """Give a literal: this placement stays, and a plug of it is in a re-plugged mate."""
        mine = [pair for pair in self.feeds.pairs if any(node.owner == one for node in pair)]
        moved = self.logic.any_of([self._is_replugged(pair, stage) for pair in mine])
        return self.logic.all_of([self.path.here[one, stage - 1], self.path.here[one, stage], moved])

    def _is_replugged(self, pair: Mate, stage: int):
        key = pair, stage
        if key not in self._replugs:
            one, two = pair
            mated = self.feeds.mated
            is_new = [mated[pair, stage], self.logic.neg(mated[pair, stage - 1])]
            moved = self.logic.any_of([self._has_moved(one, stage), self._has_moved(two, stage)])
            inserted = self.logic.any_of([self._inserts(one, two, stage), self._inserts(two, one, stage)])
            self._replugs[key] = self.logic.all_of([*is_new, moved, self.logic.neg(inserted)])
        return self._replugs[key]

    def _has_moved(self, node: Node, stage: int):
        """Give a literal: the plug has lost a mate whose owner stays."""
        if (node, stage) not in self._lost:
            lost = []
            for other, pair in self.feeds.at.get(node, []):
                stays = self.path.here[other.owner, stage] if other.owner else True
                before, now = self.feeds.mated[pair, stage - 1], self.feeds.mated[pair, stage]
                lost.append(self.logic.all_of([before, self.logic.neg(now), stays]))
            self._lost[node, stage] = self.logic.any_of(lost)
        return self._lost[node, stage]

    def _inserts(self, come: Node, node: Node, stage: int):
        """Give a literal: the owner of `come` is new, and lies between the other plug and one that it was mated with."""
        if come.owner is None:
            return False
        between = []
        for former, pair in self.feeds.at.get(node, []):
            ahead = self.feeds.at.get(former, [])
            beyond = [self.feeds.mated[on, stage] for end, on in ahead if end.owner == come.owner]
            between.append(self.logic.all_of([self.feeds.mated[pair, stage - 1], self.logic.any_of(beyond)]))
        return self.logic.all_of([self.path.add[come.owner, stage], self.logic.any_of(between)])

    # Rewiring -------------------------------------------------------------------------------------

    def _forbid_cuts_and_pulls(self, stage: int) -> None:
        for one in self.path.universe:
            part = self.world.part(one)
            if part.id not in self.path.question.allowed_rewiring:
                if part.rewires:
                    self.logic.demand(self.logic.neg(self.path.add[one, stage]))
                if part.kind in {"harness", "power_kit"} and one not in self.world.stock:
                    self.logic.demand(self.logic.neg(self.path.remove[one, stage]))

    def _keep_channels(self, stage: int) -> None:
        for channel in self.feeds.channels:
            if self.feeds.amplifies(channel):
                for zone in self.zones:
                    before = self._drives(channel, zone, stage - 1)
                    if before is not False:
                        self._keep(channel, zone, stage, before)
                        self._hand_over(channel, zone, stage, before)

    @cached_property
    def zones(self) -> list[Zone]:
        return sorted({(sink.speaker.place, sink.side) for sink in self.feeds.sinks})

    def _drives(self, channel: Channel, zone: Zone, stage: int):
        key = channel, zone, stage
        if key not in self._driven:
            sinks = self.feeds.sinks_of(channel, stage).items()
            mine = [literal for sink, literal in sinks if (sink.speaker.place, sink.side) == zone]
            self._driven[key] = self.logic.any_of(mine)
        return self._driven[key]

    def _sounds(self, zone: Zone, stage: int):
        return self.logic.any_of([self._drives(other, zone, stage) for other in self.feeds.channels])

    def _keep(self, channel: Channel, zone: Zone, stage: int, before) -> None:
        """While an amplifier stays, a zone side that it fed is fed by the same channel, or silent."""
        stays, now = self.path.here[channel[0], stage], self._drives(channel, zone, stage)
        self.logic.demand(now, where=[before, stays, self._sounds(zone, stage)])

    def _hand_over(self, channel: Channel, zone: Zone, stage: int, before) -> None:
        """Where another amplifier comes into the slot, its channel of the same id takes over."""
        old, slot = channel[0], self.world.slot(channel[0])
        successors = [one for one in self.path.universe if one != old and self.world.slot(one) == slot]
        successors = [one for one in successors if self.world.part(one).kind == "amplifier"]
        taken_over = self.logic.any_of(
            [
                self.logic.all_of([self.path.add[one, stage], self._drives((one, channel[1]), zone, stage)])
                for one in successors
            ]
        )
        for one in successors:
            change = [self.path.remove[old, stage], self.path.add[one, stage], before]
            self.logic.demand(taken_over, where=[*change, self._sounds(zone, stage)])

    def _forbid_second_moves(self) -> None:
        """Let no zone side go to an amplifier after it went from an amplifier to another source."""
        for zone in self.zones:
            amplified: dict[int, Any] = {}
            other: dict[int, Any] = {}
            for stage in range(self.path.last + 1):
                for is_amplified, literals in ((True, amplified), (False, other)):
                    channels = [
                        one for one in self.feeds.channels if self.feeds.amplifies(one) is is_amplified
                    ]
                    literals[stage] = self.logic.any_of([self._drives(one, zone, stage) for one in channels])
            for back, again in combinations(range(1, self.path.last + 1), 2):
                self.logic.demand(self.logic.neg(amplified[again]), where=[amplified[back - 1], other[back]])
