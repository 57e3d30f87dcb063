"""What feeds a speaker pair in every wiring of a build, and which other builds that holds for."""

from __future__ import annotations

from dataclasses import dataclass

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.part import Channel
from rules.net import LOOM
from rules.wiring import wirings


@dataclass(frozen=True, slots=True)
class FeedLaw:
    """With all of `present` and none of `absent`, the pair is fed by one of these channels, if it is fed."""

    channels: tuple[tuple[Placement, Channel], ...]
    present: Build
    absent: Build


def feed_law(bench: Bench, build: Build, pair: Placement) -> FeedLaw:
    """Look at the ways to feed one pair alone: every wiring of the build feeds it in one of them."""
    net = bench.net(build, unknown_plugs=False)
    sinks = [x for x in net.sinks() if x.speaker == pair]
    found = list(wirings(net, [], sinks))
    passed = {node.owner for wiring in found for mated in wiring.mates for node in mated} - {LOOM}
    could_mate = {
        x for node in net.askers([], sinks) for x in bench.mateable(net.place(node), net.faces[node])
    }
    channels = {(fed.owner, fed.channel.id): fed.channel for wiring in found for fed in wiring.feeds.values()}
    return FeedLaw(
        channels=tuple((owner, channel) for (owner, _), channel in sorted(channels.items())),
        present=frozenset(passed | {pair}),
        absent=frozenset(could_mate | _wakers(bench, build)) - build,
    )


def _wakers(bench: Bench, build: Build) -> set[Placement]:
    """Give what would wake a silent channel of the build, and so open another way to feed."""
    waiting = {
        (owner.place, channel.needs)
        for owner in build
        for channel in bench.part(owner).channels
        if channel.needs is not None
    }
    return {x for place, tag in waiting for x in bench.with_tag(place, tag)}
