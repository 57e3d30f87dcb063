"""The plugs of one build, which of them could mate, and where a feed comes from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from itertools import chain
from typing import NamedTuple

from rules.build import Placement
from rules.catalog.connector import Connector
from rules.catalog.part import Channel
from rules.mating import Face, MateTable
from rules.wires import End, Wires

LOOM = Placement("loom", "")
"""The owner of the bike's own connectors."""


class Node(NamedTuple):
    """One connector of one owner."""

    owner: Placement
    connector: str

    @classmethod
    def named(cls, name: str) -> Node:
        """Read `PART@PLACE:CONNECTOR`, or `loom:CONNECTOR`; what is written otherwise names nothing on any bike."""
        owner, _, connector = name.partition(":")
        part, _, place = owner.partition("@")
        return cls(Placement(part, place), connector)

    def __str__(self) -> str:
        return f"loom:{self.connector}" if self.owner == LOOM else f"{self.owner}:{self.connector}"


Mate = tuple[Node, Node]
"""Two mated nodes, in order."""

Wiring = frozenset[Mate]


def mate(one: Node, other: Node) -> Mate:
    """Put two nodes in order."""
    return (one, other) if one <= other else (other, one)


class Sink(NamedTuple):
    """One side of a pair of speakers, which must be fed."""

    speaker: Placement
    side: str


class Fed(NamedTuple):
    """A feed followed back to its channel."""

    owner: Placement
    channel: Channel
    mates: tuple[Mate, ...]


@dataclass(frozen=True, slots=True)
class Open:
    """A feed that ends: at a plug that is not mated (`at`), or inside an owner that does not lead on (`at` is None).

    `silent` is the channel it ends at, if that channel waits for a flash. `end` and `passed` are from where it can be followed
    further, and the mates up to there.
    """

    at: Node | None
    silent: tuple[Placement, Channel] | None = None
    end: End | None = field(default=None, compare=False)
    passed: tuple[Mate, ...] = field(default=(), compare=False)


class Net:
    """The nodes of a build.

    Args:
        wires: Owner to its wires; the loom under `LOOM`.
        tags: Place to the tags of the parts placed there (for channels that wait for a flash).
        smaller: A net of some of these owners, whose nodes are taken as they are; `wires` then are those of the others.
    """

    def __init__(
        self,
        wires: Mapping[Placement, Wires],
        tags: Mapping[str, frozenset[str]],
        table: MateTable,
        smaller: Net | None = None,
    ) -> None:
        self.wires: Mapping[Placement, Wires] = {**smaller.wires, **wires} if smaller else wires
        self._tags = tags
        self._table = table
        self.connectors: dict[Node, Connector] = dict(smaller.connectors) if smaller else {}
        self.faces: dict[Node, Face] = dict(smaller.faces) if smaller else {}
        self.numbers: dict[Node, int] = dict(smaller.numbers) if smaller else {}
        self.alike: dict[tuple[str, int], tuple[Node, ...]] = dict(smaller.alike) if smaller else {}
        self._partners: dict[Node, tuple[Node, ...]] = {}
        for owner, owned in wires.items():
            for name, connector in owned.connectors.items():
                node, number = Node(owner, name), owned.numbers[name]
                self.connectors[node] = connector
                self.faces[node] = owned.faces[name]
                self.numbers[node] = number
                key = connector.place or owner.place, number
                self.alike[key] = (*self.alike.get(key, ()), node)

    def partners(self, node: Node) -> tuple[Node, ...]:
        """Give the nodes that could mate with one, in order."""
        if node not in self._partners:
            place = self.place(node)
            facing = (self.alike.get((place, x), ()) for x in self._table.mates(self.numbers[node]))
            others = (x for x in chain.from_iterable(facing) if x.owner != node.owner)
            self._partners[node] = tuple(sorted(others))
        return self._partners[node]

    def place(self, node: Node) -> str:
        """Give the place where a node lies."""
        return self.connectors[node].place or node.owner.place

    def needs(self) -> list[Node]:
        """Give the connectors that must be mated: the needed ones of placed parts."""
        return sorted(
            node for node, connector in self.connectors.items() if connector.needed and node.owner != LOOM
        )

    def sinks(self) -> list[Sink]:
        """Give the speaker sides that must be fed."""
        return [Sink(owner, side) for owner in sorted(self.wires) for side, _ in self.wires[owner].sinks]

    def trace(
        self, sink: Sink, mated: Mapping[Node, tuple[Node, ...]], ended: Open | None = None
    ) -> Fed | Open:
        """Follow a feed backwards from a speaker side until a channel or an open end.

        Args:
            ended: Where it ended when less was mated: it is followed from there.
        """
        if ended is None or ended.at is None or ended.end is None:
            end, passed = self._first_end(sink), []
            node = Node(sink.speaker, end.connector)
        else:
            node, end, passed = ended.at, ended.end, [*ended.passed]
        while node in mated:
            facing = mated[node][0]
            through = mate(node, facing)
            if through in passed:
                return Open(None)
            passed.append(through)
            wires = self.wires[facing.owner]
            channel = wires.outputs.get((facing.connector, end.lane))
            if channel is not None:
                return self._ended(facing.owner, channel, passed)
            fed_from = wires.feeds.get(End(facing.connector, end.side, end.lane))
            if fed_from is None:
                return Open(None)
            node, end = Node(facing.owner, fed_from.connector), fed_from
        return Open(node, None, end, tuple(passed))

    def _first_end(self, sink: Sink) -> End:
        return next(end for side, end in self.wires[sink.speaker].sinks if side == sink.side)

    def askers(self, needs: Iterable[Node], sinks: Iterable[Sink]) -> frozenset[Node]:
        """Give every node that would ask for a mate in some wiring: the needs, and the fed ends that a feed could pass.

        Only a new mate for one of these can change what these needs and feeds come to.
        """
        nodes = set(needs)
        reached: set[tuple[Placement, End]] = set()
        ahead = [(sink.speaker, self._first_end(sink)) for sink in sinks]
        while ahead:
            owner, end = ahead.pop()
            if (owner, end) in reached:
                continue
            reached.add((owner, end))
            node = Node(owner, end.connector)
            nodes.add(node)
            for facing in self.partners(node):
                back = self.wires[facing.owner].feeds.get(End(facing.connector, end.side, end.lane))
                if back is not None:
                    ahead.append((facing.owner, back))
        return frozenset(nodes)

    def reach(self, sink: Sink) -> frozenset[tuple[Placement, str]]:
        """Give every channel that could feed a speaker side in some wiring, whatever else is mated."""
        found: set[tuple[Placement, str]] = set()
        reached: set[tuple[Placement, End]] = set()
        ahead = [(sink.speaker, self._first_end(sink))]
        while ahead:
            owner, end = ahead.pop()
            if (owner, end) in reached:
                continue
            reached.add((owner, end))
            for facing in self.partners(Node(owner, end.connector)):
                wires = self.wires[facing.owner]
                channel = wires.outputs.get((facing.connector, end.lane))
                back = wires.feeds.get(End(facing.connector, end.side, end.lane))
                if channel is not None and isinstance(self._ended(facing.owner, channel, []), Fed):
                    found.add((facing.owner, channel.id))
                elif channel is None and back is not None:
                    ahead.append((facing.owner, back))
        return frozenset(found)

    def _ended(self, owner: Placement, channel: Channel, passed: list[Mate]) -> Fed | Open:
        if channel.needs is None or channel.needs in self._tags.get(owner.place, frozenset()):
            return Fed(owner, channel, tuple(passed))
        return Open(None, (owner, channel))
