"""What channels drive: impedances, bridges, each speaker's share of power; and which amplifiers a preset must cap."""

from __future__ import annotations

from fractions import Fraction

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.catalog.part import Channel, Speaker
from rules.catalog.rule import ChannelLimit
from rules.checker.fault import Breaks, Clause
from rules.checker.figures import exact
from rules.checker.plugs import Sink, Wired
from rules.checker.world import World, known
from rules.electrical.load import parallel_impedance, power_share, rated_power


def check_loads(world: World, wired: Wired) -> Breaks:
    """Name every channel that drives what it may not, or of which nobody knows."""
    limits = {rule.limit for rule in world.index.rules(ChannelLimit)}
    loads = wired.loads
    for (source, name), sinks in loads.items():
        channel = wired.feeds[sinks[0]].channel
        about = f"{source}:{name}"
        if "lowest_impedance" in limits and not _is_high_enough(world, channel, sinks):
            yield Clause.LOWEST_IMPEDANCE, about
        if "bridge" in limits and any((source, half) in loads for half in channel.bridges):
            yield Clause.BRIDGE, about
        if "speaker_power" in limits:
            for sink in sinks:
                if not _bears(world, wired, sink):
                    yield Clause.SPEAKER_POWER, f"{about} {sink}"


def capped(world: World, wired: Wired) -> set[Placement]:
    """Give the amplifiers of which a speaker would get more than its rating if no preset capped them."""
    if all(rule.limit != "speaker_power" for rule in world.index.rules(ChannelLimit)):
        return set()
    return {
        feed.source
        for sink, feed in wired.feeds.items()
        if world.part(feed.source).kind == "amplifier" and _is_above_rating(world, wired, sink)
    }


def load_of(world: World, wired: Wired, source: Placement, channel: str) -> Fraction | None:
    """Give the parallel impedance on a channel [ohm]; None if one is not known."""
    return _parallel(world, wired.loads.get((source, channel), []))


def share_of(world: World, wired: Wired, sink: Sink) -> Fraction | None:
    """Give the power that a speaker gets from its channel [W]; None if a figure is not known."""
    feed = wired.feeds[sink]
    load = load_of(world, wired, feed.source, feed.channel.id)
    own = _speaker(world, sink)
    if load is None or own is None or isinstance(own.impedance_ohm, Unknown):
        return None
    power = None if isinstance(feed.channel.watts, Unknown) else rated_power(feed.channel.watts, load)
    return None if power is None else power_share(power, load, own.impedance_ohm)


def rating_of(world: World, sink: Sink) -> Fraction | None:
    """Give a speaker's continuous rating [W]; None if it is not known."""
    own = _speaker(world, sink)
    rating = known(own.rms_w) if own else None
    return None if rating is None else exact(rating)


def _is_high_enough(world: World, channel: Channel, sinks: list[Sink]) -> bool:
    load, lowest = _parallel(world, sinks), known(channel.min_ohm)
    return load is not None and lowest is not None and load >= exact(lowest)


def _bears(world: World, wired: Wired, sink: Sink) -> bool:
    """Tell whether the share is known, and is within the rating or can be capped."""
    share, rating = share_of(world, wired, sink), rating_of(world, sink)
    if share is None or rating is None:
        return False
    return share <= rating or world.part(wired.feeds[sink].source).kind == "amplifier"


def _is_above_rating(world: World, wired: Wired, sink: Sink) -> bool:
    share, rating = share_of(world, wired, sink), rating_of(world, sink)
    return share is not None and rating is not None and share > rating


def _parallel(world: World, sinks: list[Sink]) -> Fraction | None:
    speakers = [_speaker(world, sink) for sink in sinks]
    ohms = [one.impedance_ohm for one in speakers if one and not isinstance(one.impedance_ohm, Unknown)]
    return parallel_impedance(ohms) if ohms and len(ohms) == len(sinks) else None


def _speaker(world: World, sink: Sink) -> Speaker | None:
    return world.part(sink.speaker).speaker
