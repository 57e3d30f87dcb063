"""Wirings in the mixed-integer model: a flow from the speakers of every zone side, backwards through mates, to channels."""

from __future__ import annotations

from functools import cached_property
from itertools import product
from typing import Any, NamedTuple

from rules.build import Placement
from tests.oracle.milp_model import Frame
from tests.oracle.reading import Mate, Node, Sink
from tests.oracle.wirings_brute import Wiring

Side = tuple[str, str]
"""A place, and one side of it."""
Channel = tuple[Placement, str]


class Point(NamedTuple):
    """Where a flow waits for a mate: a lane of a plug, on one side of a pair."""

    node: Node
    lane: str
    side: str | None


class Arc(NamedTuple):
    """A flow over a mate: from a point to the next, or into a channel."""

    start: Point
    mate: Mate
    end: Point | None
    channel: Channel | None


class Wires:
    """Adds mates and flows of every stage; stage 0 is wired as the bike stands."""

    def __init__(self, frame: Frame, present: Wiring | None) -> None:
        self.frame, self.world, self.present = frame, frame.world, present
        self.mated: dict[tuple[Mate, int], Any] = {}
        self.flow: dict[tuple[Side, int], dict[Arc, Any]] = {}
        self.into: dict[tuple[Side, int], dict[Channel, Any]] = {}
        self.feeds: dict[tuple[Channel, Sink, int], Any] = {}
        self._start()
        for stage in frame.stages:
            self._plugs(stage)
            for side in self.sides:
                self._flow(side, stage)
                self._share_out(side, stage)
            self._no_idle_mates(stage)
        self.channels = sorted({channel for channels in self.into.values() for channel in channels})

    def stands(self, stage: int):
        """Give a term: there is a wiring at this stage."""
        return 1 if self.present is not None else self.frame.started[stage]

    # Mates ----------------------------------------------------------------------------------------

    @cached_property
    def touching(self) -> dict[Node, list[tuple[Node, Mate]]]:
        nodes = self.world.nodes(self.frame.placements)
        found: dict[Node, list[tuple[Node, Mate]]] = {node: [] for node in nodes}
        for one, other in product(nodes, nodes):
            if self.world.mate(one, other) and not self._rivals(one.owner, other.owner):
                found[one].append((other, frozenset((one, other))))
        return found

    def _rivals(self, one: Placement | None, other: Placement | None) -> bool:
        """Tell whether the two are never there together, as their slot takes one."""
        if one is None or other is None or {one, other} <= self.world.present:
            return False
        return (
            self.world.slot(one) == self.world.slot(other) and self.world.capacity(self.world.slot(one)) == 1
        )

    @cached_property
    def mates(self) -> list[Mate]:
        return list(dict.fromkeys(mate for others in self.touching.values() for _, mate in others))

    def _start(self) -> None:
        now = self.present.mates if self.present else frozenset()
        self.mated |= {(mate, 0): int(mate in now) for mate in self.mates}
        for feed in self.present.feeds if self.present else ():
            side, channel = (feed.sink.speaker.place, feed.sink.side), (feed.source, feed.channel)
            self.into.setdefault((side, 0), {})[channel] = 1
            self.feeds[channel, feed.sink, 0] = 1

    def _plugs(self, stage: int) -> None:
        frame = self.frame
        for mate in self.mates:
            self.mated[mate, stage] = mated = frame.binary()
            frame.demand(mated <= self.stands(stage))
            change = mated - self.mated[mate, stage - 1]
            frame.demand(change <= frame.busy[stage])
            frame.demand(-1 * change <= frame.busy[stage])
            if self.world.unknown_mate(*mate):
                frame.demand(mated <= 1 - frame.started[stage])
        for node, others in self.touching.items():
            here = frame.here(node.owner, stage) if node.owner else 1
            mine = [self.mated[mate, stage] for _, mate in others]
            connector = self.world.connector(node)
            if mine:
                frame.demand(frame.sum(mine) <= connector.accepts * here)
            if node.owner and connector.needed:
                frame.demand(frame.sum(mine) >= here + self.stands(stage) - 1)

    # Flows ----------------------------------------------------------------------------------------

    @cached_property
    def speakers(self) -> dict[Side, list[Sink]]:
        found: dict[Side, list[Sink]] = {}
        for one in self.frame.placements:
            for sink in self.world.sinks(one):
                found.setdefault((one.place, sink.side), []).append(sink)
        for sinks in found.values():
            slots = {self.world.slot(sink.speaker) for sink in sinks}
            assert sum(map(self.world.capacity, slots)) == 1, "this model is for one speaker a zone side"
        return found

    @property
    def sides(self) -> list[Side]:
        return sorted(self.speakers)

    def terminals(self, sink: Sink) -> Point:
        paired = self.world.part(sink.speaker).connectors["terminals"].paired
        return Point(Node(sink.speaker, "terminals"), "drive", sink.side if paired else None)

    @cached_property
    def arcs(self) -> dict[Side, list[Arc]]:
        return {side: list(self._arcs(side)) for side in self.sides}

    def _arcs(self, side: Side):
        ahead = [self.terminals(sink) for sink in self.speakers[side]]
        seen = set(ahead)
        while ahead:
            for arc in self._from(ahead.pop()):
                yield arc
                if arc.end is not None and arc.end not in seen:
                    seen.add(arc.end)
                    ahead.append(arc.end)

    def _from(self, point: Point):
        for other, mate in self.touching[point.node]:
            channel = self._channel_at(other, point.lane)
            if channel is not None:
                yield Arc(point, mate, None, channel)
                continue
            for fed, feeding in self.world.links(other.owner).items():
                if fed == (other.connector, point.lane, point.side):
                    end = Point(Node(other.owner, feeding.connector), feeding.lane, feeding.side)
                    yield Arc(point, mate, end, None)

    def _channel_at(self, node: Node, lane: str) -> Channel | None:
        if node.owner is None:
            return None
        outputs = {one.output: one.id for one in self.world.part(node.owner).channels}
        name = outputs.get(f"{node.connector}.{lane}")
        return None if name is None else (node.owner, name)

    def _flow(self, side: Side, stage: int) -> None:
        frame = self.frame
        flow = {arc: frame.share() for arc in self.arcs[side]}
        self.flow[side, stage] = flow
        come: dict[Point, list[Any]] = {}
        leave: dict[Point, list[Any]] = {}
        ends: dict[Channel, list[Any]] = {}
        over: dict[tuple[Point, Mate], Any] = {}
        for arc, amount in flow.items():
            leave.setdefault(arc.start, []).append(amount)
            over[arc.start, arc.mate] = amount
            if arc.end is not None:
                come.setdefault(arc.end, []).append(amount)
            if arc.channel is not None:
                ends.setdefault(arc.channel, []).append(amount)
        for (_, mate), amount in over.items():
            frame.demand(amount <= self.mated[mate, stage])
        for sink in self.speakers[side]:
            come.setdefault(self.terminals(sink), []).append(self._asks(sink, stage))
        for point in come.keys() | leave.keys():
            frame.demand(frame.sum(leave.get(point, [])) == frame.sum(come.get(point, [])))
        self.into[side, stage] = {channel: frame.sum(amounts) for channel, amounts in ends.items()}
        for channel, amount in self.into[side, stage].items():
            self._opened(channel, amount, stage)

    def _asks(self, sink: Sink, stage: int):
        """Give a term: the speaker is there, and there is a wiring."""
        here = self.frame.here(sink.speaker, stage)
        return here if self.present is not None else self.frame.all_of([here, self.stands(stage)])

    def _opened(self, channel: Channel, amount, stage: int) -> None:
        needs = self.channel(channel).needs
        if needs is not None:
            opening = [
                one
                for one in self.frame.placements
                if one.place == channel[0].place and needs in self.world.part(one).tags
            ]
            self.frame.demand(amount <= self.frame.sum(self.frame.here(one, stage) for one in opening))

    def _share_out(self, side: Side, stage: int) -> None:
        """Say which speaker it is that a channel feeds: the one that is there."""
        frame, sinks = self.frame, self.speakers[side]
        for channel in self.into[side, stage]:
            for sink in sinks:
                self.feeds[channel, sink, stage] = frame.share()
            mine = [self.feeds[channel, sink, stage] for sink in sinks]
            frame.demand(frame.sum(mine) == self.into[side, stage][channel])
        for sink in sinks:
            fed = [self.feeds[channel, sink, stage] for channel in self.into[side, stage]]
            frame.demand(frame.sum(fed) == self._asks(sink, stage))

    def _no_idle_mates(self, stage: int) -> None:
        used: dict[Mate, list[Any]] = {mate: [] for mate in self.mates}
        for side in self.sides:
            for arc, amount in self.flow[side, stage].items():
                used[arc.mate].append(amount)
        for mate in self.mates:
            if not any(node.owner and self.world.connector(node).needed for node in mate):
                self.frame.demand(self.mated[mate, stage] <= self.frame.sum(used[mate]))

    # What others ask ------------------------------------------------------------------------------

    def channel(self, channel: Channel) -> Any:
        return next(one for one in self.world.part(channel[0]).channels if one.id == channel[1])

    def amplifies(self, channel: Channel) -> bool:
        return bool(self.world.part(channel[0]).kind == "amplifier")

    def loads_of(self, channel: Channel, stage: int) -> dict[Sink, Any]:
        return {
            sink: self.feeds[channel, sink, stage]
            for sinks in self.speakers.values()
            for sink in sinks
            if (channel, sink, stage) in self.feeds
        }
