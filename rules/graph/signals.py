"""Where a signal can go in one build: from the channels, over plugs that could mate, to the speakers."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import NamedTuple, TypeAlias

import networkx as nx

from rules.build import Build, Placement
from rules.graph.plugs import channels_at, lanes_by_end, place_of
from rules.graph.thing import Graph, Thing, ahead, known, thing
from rules.net import LOOM, Mate, Node, Sink, mate


class SignalPath(NamedTuple):
    """One way from a channel to a speaker side, and the mates that it asks for, first the channel's own."""

    owner: Placement
    channel: str
    sink: Sink
    mates: tuple[Mate, ...]


class Point(NamedTuple):
    """A lane or a channel of one owner; `leaving`: on its way out of the owner."""

    owner: Placement
    at: Thing
    leaving: bool

    @property
    def node(self) -> Node:
        """Give the connector of a lane."""
        return Node(self.owner, self.at.path[2])


Ways: TypeAlias = "nx.DiGraph[Point]"


def signal_paths(
    graph: Graph, bike: str, build: Build, *, unknown_plugs: bool = False
) -> Iterator[SignalPath]:
    """Give every simple path from a channel to a speaker side that no plug on it stands in the way of.

    Args:
        build: Placements on the bike as it left the works; what was measured on one bike is not in the graph.
        unknown_plugs: Count on plugs that may or may not be there.

    Raises: `UnknownId`.

    Example:
        Speakers whose terminals mate with the plug of the amplifier beside them:

        >>> from rules.graph.thing import join, put
        >>> graph = nx.DiGraph()
        >>> bike = put(graph, thing("bike", "plover"))
        >>> for part, plug in (("skua-8", "out"), ("tern-2", "terminals")):
        ...     one = put(graph, thing("connector", "part", part, plug), takes=1)
        ...     join(graph, thing("part", part), "carries", one)
        ...     join(graph, one, "has_lane", thing("lane", "part", part, plug, "left", "drive"))
        >>> out, terminals = (thing("connector", "part", *x) for x in (("skua-8", "out"), ("tern-2", "terminals")))
        >>> join(graph, out, "mates_with", terminals)
        >>> end = put(graph, ahead(graph, terminals, "has_lane")[0], sounds="left")
        >>> join(graph, thing("channel", "skua-8", "a"), "comes_out_at", ahead(graph, out, "has_lane")[0])
        >>> build = frozenset({Placement("skua-8", "rears"), Placement("tern-2", "rears")})
        >>> [(path.channel, path.sink.side) for path in signal_paths(graph, "plover", build)]
        [('a', 'left')]
    """
    ways = signal_ways(graph, bike, build, unknown_plugs=unknown_plugs)
    channels = [point for point in sorted(ways) if point.at.kind == "channel"]
    for sink, end in _sinks(graph, ways):
        for source in channels:
            for points in nx.all_simple_paths(ways, source, end):
                mates = _mates(points)
                if _has_room(graph, bike, mates):
                    yield SignalPath(source.owner, source.at.path[1], sink, mates)


def feeding_channels(
    graph: Graph, bike: str, build: Build, *, unknown_plugs: bool = False
) -> dict[Sink, frozenset[tuple[Placement, str]]]:
    """Give for every speaker side the channels that could feed it, whatever else is mated.

    Raises: `UnknownId`.
    """
    ways = signal_ways(graph, bike, build, unknown_plugs=unknown_plugs)
    return {
        sink: frozenset((x.owner, x.at.path[1]) for x in nx.ancestors(ways, end) if x.at.kind == "channel")
        for sink, end in _sinks(graph, ways)
    }


def signal_ways(graph: Graph, bike: str, build: Build, *, unknown_plugs: bool) -> Ways:
    """Give the ways of a signal in a build: along the wires of its owners, and over plugs that could mate."""
    owners = {LOOM: known(graph, thing("bike", bike))}
    owners.update((placed, known(graph, thing("part", placed.part))) for placed in sorted(build))
    plugs = {
        (owner, plug): place_of(graph, plug) or owner.place
        for owner, one in sorted(owners.items())
        for plug in ahead(graph, one, "carries")
        if unknown_plugs or not graph.nodes[plug].get("unsure")
    }
    ways: Ways = nx.DiGraph()
    for owner, plug in plugs:
        for lane in ahead(graph, plug, "has_lane"):
            _add_inside(graph, ways, build, Point(owner, lane, leaving=True))
            ways.add_node(Point(owner, lane, leaving=False))
    _add_between(graph, ways, plugs)
    ways.remove_nodes_from([point for point in ways if not _is_there(point, plugs)])
    return ways


def _add_inside(graph: Graph, ways: Ways, build: Build, end: Point) -> None:
    """Add what leads to a lane on its way out: a channel, and only where there is none, a wire."""
    channels = channels_at(graph, end.at)
    for channel in channels:
        if _is_awake(graph, build, end.owner, channel):
            ways.add_edge(Point(end.owner, channel, leaving=True), end)
    if not channels:
        for lane in sorted(graph.pred[end.at]):
            if lane.kind == "lane":
                ways.add_edge(Point(end.owner, lane, leaving=False), end)


def _add_between(graph: Graph, ways: Ways, plugs: dict[tuple[Placement, Thing], str]) -> None:
    placed: dict[Thing, list[Placement]] = {}
    for owner, plug in plugs:
        placed.setdefault(plug, []).append(owner)
    for (owner, plug), place in plugs.items():
        out = lanes_by_end(graph, plug)
        for facing in ahead(graph, plug, "mates_with"):
            into = lanes_by_end(graph, facing)
            ends = [(out[end], into[end]) for end in sorted(out.keys() & into.keys())]
            for other in placed.get(facing, ()):
                if other != owner and plugs[other, facing] == place:
                    ways.add_edges_from(
                        (Point(owner, x, leaving=True), Point(other, y, leaving=False)) for x, y in ends
                    )


def _is_awake(graph: Graph, build: Build, owner: Placement, channel: Thing) -> bool:
    """Tell whether what a channel waits for is placed beside it."""
    return all(
        any(Placement(part.path[0], owner.place) in build for part in ahead(graph, need, "met_by"))
        for need in ahead(graph, channel, "needs")
    )


def _is_there(point: Point, plugs: dict[tuple[Placement, Thing], str]) -> bool:
    """Tell whether a point is a channel, or a lane of a plug that is there."""
    return point.at.kind == "channel" or (point.owner, thing("connector", *point.at.path[:3])) in plugs


def _sinks(graph: Graph, ways: Ways) -> list[tuple[Sink, Point]]:
    return [
        (Sink(point.owner, graph.nodes[point.at]["sounds"]), point)
        for point in sorted(ways)
        if not point.leaving and graph.nodes[point.at].get("sounds")
    ]


def _mates(points: list[Point]) -> tuple[Mate, ...]:
    return tuple(mate(one.node, other.node) for one, other in pairwise(points) if one.owner != other.owner)


def _has_room(graph: Graph, bike: str, mates: tuple[Mate, ...]) -> bool:
    """Tell whether a path asks no plug for more mates than it takes, nor for the same mate twice."""
    nodes = [node for pair in mates for node in pair]
    return len(set(mates)) == len(mates) and all(nodes.count(x) <= _takes(graph, bike, x) for x in set(nodes))


def _takes(graph: Graph, bike: str, node: Node) -> int:
    owner = ("bike", bike) if node.owner == LOOM else ("part", node.owner.part)
    takes: int = graph.nodes[thing("connector", *owner, node.connector)]["takes"]
    return takes
