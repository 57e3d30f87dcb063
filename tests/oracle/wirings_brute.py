"""All wirings of one build, as section 1 of the definitions has them."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations

from rules.build import Build, Placement
from rules.catalog.part import Channel
from tests.oracle.reading import End, Mate, Node, Sink, World


@dataclass(frozen=True)
class Feed:
    """Which channel feeds a sink."""

    sink: Sink
    source: Placement
    channel: str
    through: frozenset[Mate]


@dataclass(frozen=True)
class Wiring:
    """A set of mates and the feeds that follow from it."""

    mates: frozenset[Mate]
    feeds: frozenset[Feed]


@dataclass(frozen=True)
class Trace:
    """How far a sink was followed back: to a feed, to a plug without mate, or to a dead end."""

    used: frozenset[Mate]
    feed: Feed | None = None
    open_at: Node | None = None


def wirings(world: World, build: Build) -> list[Wiring]:
    """Give all wirings of a build.

    Needed plugs are mated first, in all ways; then each feed is followed, and mated on in all ways where
    it stops. Nothing else may be mated, so nothing is missed.
    """
    partners = _partners(world, build)
    found: set[frozenset[Mate]] = set()
    _extend(world, build, partners, frozenset(), found)
    return [_finished(world, build, mates) for mates in sorted(found, key=_order)]


def present_wirings(world: World) -> list[Wiring]:
    """Give the wirings of the present build that hold whatever somebody has seen."""
    if "present wirings" not in world.memory:
        world.memory["present wirings"] = wirings(world, world.present)
    every: list[Wiring] = world.memory["present wirings"]
    return [one for one in every if world.may_be_wired(one.mates)]


def wirings_by_subsets(world: World, build: Build) -> list[Wiring]:
    """Give the same by trying every set of mates there is; for tiny builds, to check the function above."""
    partners = _partners(world, build)
    pairs = sorted(
        {frozenset((node, other)) for node, others in partners.items() for other in others},
        key=lambda mate: sorted(map(str, mate)),
    )
    kept = []
    for size in range(len(pairs) + 1):
        for chosen in combinations(pairs, size):
            mates = frozenset(chosen)
            if _is_wiring(world, build, mates):
                kept.append(mates)
    return [_finished(world, build, mates) for mates in sorted(kept, key=_order)]


def _order(mates):
    return sorted(str(sorted(map(str, mate))) for mate in mates)


def _partners(world: World, build: Build) -> dict[Node, list[Node]]:
    nodes = world.nodes(build)
    return {node: [other for other in nodes if world.mate(node, other)] for node in nodes}


def _extend(world, build, partners, mates, found) -> None:
    """Mate the first plug that still wants a mate in every way, or keep the wiring if none does."""
    wanting = _first_wanting(world, build, partners, mates)
    if wanting is None:
        found.add(mates)
    elif wanting is not _DEAD:
        for other in partners[wanting]:
            if _free(world, mates, wanting) and _free(world, mates, other):
                _extend(world, build, partners, mates | {frozenset((wanting, other))}, found)


_DEAD = object()


def _first_wanting(world, build, partners, mates):
    for node in partners:
        if _is_needed(world, node) and not _mates_of(mates, node):
            return node
    for placement in sorted(build):
        for sink in world.sinks(placement):
            trace = follow(world, build, mates, sink)
            if trace.feed is None:
                return trace.open_at or _DEAD
    return None


def _is_needed(world: World, node: Node):
    return node.owner is not None and world.connector(node).needed


def _mates_of(mates, node: Node) -> list[Node]:
    return [other for mate in mates if node in mate for other in mate if other != node]


def _free(world: World, mates, node: Node):
    return len(_mates_of(mates, node)) < world.connector(node).accepts


def _is_wiring(world, build, mates):
    nodes = world.nodes(build)
    if any(len(_mates_of(mates, node)) > world.connector(node).accepts for node in nodes):
        return False
    if any(_is_needed(world, node) and not _mates_of(mates, node) for node in nodes):
        return False
    traces = [follow(world, build, mates, sink) for placement in build for sink in world.sinks(placement)]
    if any(trace.feed is None for trace in traces):
        return False
    used = {mate for trace in traces for mate in trace.used}
    used |= {mate for mate in mates if any(_is_needed(world, node) for node in mate)}
    return used == mates


def follow(world: World, build: Build, mates, sink: Sink) -> Trace:
    """Follow the feed of a sink backwards."""
    end = End(
        "terminals", "drive", sink.side if world.part(sink.speaker).connectors["terminals"].paired else None
    )
    owner: Placement | None = sink.speaker
    used: frozenset[Mate] = frozenset()
    while True:
        here = Node(owner, end.connector)
        others = _mates_of(mates, here)
        if not others:
            return Trace(used, open_at=here)
        there = others[0]
        mate = frozenset((here, there))
        if mate in used:
            return Trace(used)
        used |= {mate}
        owner, arrived = there.owner, End(there.connector, end.lane, end.side)
        channel = _channel_at(world, owner, arrived)
        if channel is not None:
            assert owner is not None
            feeds = _speaks(world, build, owner, channel)
            return Trace(used, Feed(sink, owner, channel.id, used) if feeds else None)
        onward = world.links(owner).get(arrived)
        if onward is None:
            return Trace(used)
        end = onward


def _channel_at(world: World, owner: Placement | None, end: End) -> Channel | None:
    if owner is None:
        return None
    outputs = {channel.output: channel for channel in world.part(owner).channels}
    return outputs.get(f"{end.connector}.{end.lane}")


def _speaks(world: World, build: Build, owner: Placement, channel: Channel) -> bool:
    return channel.needs is None or any(
        other.place == owner.place and channel.needs in world.part(other).tags for other in build
    )


def _finished(world: World, build: Build, mates) -> Wiring:
    traces = [
        follow(world, build, mates, sink) for placement in sorted(build) for sink in world.sinks(placement)
    ]
    return Wiring(mates, frozenset(trace.feed for trace in traces if trace.feed is not None))
