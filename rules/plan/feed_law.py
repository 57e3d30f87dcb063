"""What feeds speaker pairs in every wiring of a build, and which other builds that holds for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from rules.bench import Bench
from rules.build import Build, Placement
from rules.net import LOOM, Fed, Net, Node, Sink
from rules.wiring import Option, wirings


@dataclass(frozen=True, slots=True)
class FeedLaw:
    """With all of `present` and none of `absent`, these pairs are fed in one of these ways, if they are fed."""

    ways: tuple[Mapping[Sink, Fed], ...]
    present: Build
    absent: Build

    def owners(self) -> frozenset[Placement]:
        """Give whatever may feed the pairs."""
        return frozenset(fed.owner for way in self.ways for fed in way.values())


class Feeds(NamedTuple):
    """What an amplifier does in one wiring: the pairs that it feeds, and whether it needs a preset."""

    pairs: Build
    needs_preset: bool


FeedsByAmplifier = Mapping[Placement, tuple[Feeds, ...]]


def feeds_of(bench: Bench, build: Build, options: Sequence[Option]) -> FeedsByAmplifier:
    """Give for each amplifier of a build that needs a preset in some wiring all that it may do."""
    amplifiers = sorted(x for x in build if bench.part(x).kind == "amplifier")
    found = {x: frozenset(_feeds(bench, option, x) for option in options) for x in amplifiers}
    return {
        x: tuple(sorted(ways, key=lambda way: (sorted(way.pairs), way.needs_preset)))
        for x, ways in found.items()
        if any(way.needs_preset for way in ways) or x in bench.present
    }


def _feeds(bench: Bench, option: Option, amplifier: Placement) -> Feeds:
    fed = frozenset(sink.speaker for sink, feed in option.feeds.items() if feed.owner == amplifier)
    return Feeds(fed, amplifier in option.capped or bench.is_chained(amplifier))


def feed_law(bench: Bench, build: Build, pairs: Build) -> FeedLaw:
    """Look at the ways to feed some pairs alone: every wiring of the build feeds them in one of these."""
    net = bench.net(build, unknown_plugs=False)
    sinks = [x for x in net.sinks() if x.speaker in pairs]
    found = list(wirings(net, [], sinks))
    passed = {node.owner for wiring in found for mated in wiring.mates for node in mated} - {LOOM}
    return FeedLaw(
        ways=tuple(wiring.feeds for wiring in found),
        present=frozenset(passed) | pairs,
        absent=(mateable_with(bench, net, net.askers([], sinks)) | wakers(bench, build)) - build,
    )


def told_apart(bench: Bench, build: Iterable[Placement]) -> Build:
    """Give those of some parts on which wirings and presets depend: with plugs, waking tags, or a host."""
    return frozenset(x for x in build if bench.is_wired(x) or bench.part(x).host)


def openers(bench: Bench, build: Build) -> Build:
    """Give all that could open another way to feed the pairs of a build, or make room for one."""
    net = bench.net(build, unknown_plugs=False)
    passed = net.askers([], net.sinks())
    led_to = {x for node in passed for x in net.partners(node)}
    beside = {node for node in net.needs() if not led_to.isdisjoint(net.partners(node))}
    return (mateable_with(bench, net, passed | beside) | wakers(bench, build)) - build


def mateable_with(bench: Bench, net: Net, nodes: Iterable[Node]) -> Build:
    """Give all that could bring a connector which mates with one of these plugs."""
    return frozenset(x for node in nodes for x in bench.mateable(net.place(node), net.faces[node]))


def wakers(bench: Bench, build: Build) -> set[Placement]:
    """Give what would wake a silent channel of the build, and so open another way to feed."""
    waiting = {
        (owner.place, channel.needs)
        for owner in build
        for channel in bench.part(owner).channels
        if channel.needs is not None
    }
    return {x for place, tag in waiting for x in bench.with_tag(place, tag)}
