"""A wiring of a build: whether its mates can be made, whether they are all that is needed, and what feeds what."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from rules.build import Build, Placement
from rules.catalog.connector import Connector
from rules.catalog.part import Channel
from rules.checker.fault import Breaks, Clause
from rules.checker.index import End
from rules.checker.world import LOOM, World

TERMINALS, DRIVE = "terminals", "drive"


class Plug(NamedTuple):
    """A connector of a placed part, or of the bike's loom."""

    owner: Placement
    connector: str

    def __str__(self) -> str:
        owner = "loom" if self.owner == LOOM else str(self.owner)
        return f"{owner}:{self.connector}"


Mate = frozenset[Plug]
Mates = frozenset[Mate]
Partners = dict[Plug, list[Plug]]


class Sink(NamedTuple):
    """One side of a pair of speakers, or a single speaker."""

    speaker: Placement
    side: str

    def __str__(self) -> str:
        return f"{self.speaker}:{self.side}"


@dataclass(frozen=True, slots=True)
class Feed:
    """The channel that feeds a sink, and the mates that lead there."""

    source: Placement
    channel: Channel
    through: Mates


@dataclass(frozen=True)
class Wired:
    """A build with its mates, whom each plug is mated with, and what feeds each sink that is fed by one channel."""

    build: Build
    mates: Mates
    partners: Partners
    feeds: dict[Sink, Feed] = field(default_factory=dict)

    @cached_property
    def loads(self) -> dict[tuple[Placement, str], list[Sink]]:
        """Give the channels that feed something, with what each feeds."""
        loads: dict[tuple[Placement, str], list[Sink]] = {}
        for sink, feed in sorted(self.feeds.items(), key=lambda pair: pair[0]):
            loads.setdefault((feed.source, feed.channel.id), []).append(sink)
        return loads


def mates_of(wiring: Iterable[tuple[tuple[Placement, str], tuple[Placement, str]]]) -> Mates:
    """Read a plan's wiring."""
    return frozenset(frozenset((Plug(*one), Plug(*other))) for one, other in wiring)


def named(mate: Mate) -> str:
    """Name a mate by its plugs, in order."""
    return " = ".join(sorted(map(str, mate)))


def wire(world: World, build: Build, mates: Mates) -> tuple[Wired, list[tuple[Clause, str]]]:
    """Follow what feeds what, and name everything that makes these mates no wiring of the build."""
    faults = list(_mates(world, build, mates))
    spoiled = {about for clause, about in faults if clause is Clause.NO_SUCH_PLUG}
    sound = frozenset(mate for mate in mates if named(mate) not in spoiled) if spoiled else mates
    wired = Wired(build, mates, partners_of(sound))
    faults += _crowded(world, wired)
    used, unneeded = _needed(world, wired)
    faults += unneeded
    for sink in sinks_of(world, build):
        passed, feeds = _follow(world, wired, sink)
        if len(feeds) == 1:
            wired.feeds[sink] = feeds[0]
            used |= feeds[0].through
        else:
            faults.append((Clause.FEED, f"{sink} is fed by {len(feeds)} channels"))
            used |= passed
    faults += [(Clause.USELESS_MATE, named(mate)) for mate in sound - used]
    return wired, faults


def plug_of(world: World, plug: Plug) -> Connector:
    """Give what the catalog says of a plug that exists."""
    return world.wires(plug.owner).connectors[plug.connector]


# --- mates ------------------------------------------------------------------------------------------------------


def _mates(world: World, build: Build, mates: Mates) -> Breaks:
    for mate in mates:
        if len(mate) != 2 or not all(_exists(world, build, plug) for plug in mate):  # noqa: PLR2004 - a pair
            yield Clause.NO_SUCH_PLUG, named(mate)
        elif not _can_mate(world, *mate):
            yield Clause.MATE, named(mate)


def _exists(world: World, build: Build, plug: Plug) -> bool:
    if plug.owner != LOOM and plug.owner not in build:
        return False
    return plug.connector in world.wires(plug.owner).connectors


def _can_mate(world: World, one: Plug, other: Plug) -> bool:
    return (
        one.owner != other.owner
        and _place(world, one) == _place(world, other)
        and world.index.mate(plug_of(world, one), plug_of(world, other))
    )


def _place(world: World, plug: Plug) -> str:
    return plug_of(world, plug).place or plug.owner.place


def partners_of(mates: Mates) -> Partners:
    """Give whom each plug is mated with."""
    partners: Partners = {}
    for one, other in mates:
        partners.setdefault(one, []).append(other)
        partners.setdefault(other, []).append(one)
    return partners


def _crowded(world: World, wired: Wired) -> Breaks:
    for plug, partners in wired.partners.items():
        if len(partners) > plug_of(world, plug).accepts:
            yield Clause.ACCEPTS, str(plug)


def _needed(world: World, wired: Wired) -> tuple[set[Mate], list[tuple[Clause, str]]]:
    """Give the mates of the plugs that need one, and name those without."""
    used: set[Mate] = set()
    faults: list[tuple[Clause, str]] = []
    for owner in wired.build:
        for name, connector in world.wires(owner).connectors.items():
            plug = Plug(owner, name)
            if connector.needed and plug not in wired.partners:
                faults.append((Clause.NEEDED, str(plug)))
            elif connector.needed:
                used |= {frozenset((plug, other)) for other in wired.partners[plug]}
    return used, faults


# --- feeds ------------------------------------------------------------------------------------------------------


def sinks_of(world: World, build: Build) -> Iterator[Sink]:
    """Give what must be fed: both sides of each placed pair of speakers; one, in a place that is no pair."""
    for placed in sorted(build):
        if world.part(placed).kind == "speaker":
            is_pair = world.index.catalog.places[placed.place].pair
            for side in ("left", "right") if is_pair else ("single",):
                yield Sink(placed, side)


def _follow(world: World, wired: Wired, sink: Sink) -> tuple[set[Mate], list[Feed]]:
    """Go back from a sink, from plug to plug, to every channel that feeds it; give the mates passed, too."""
    terminals = world.wires(sink.speaker).connectors.get(TERMINALS)
    side = sink.side if terminals is not None and terminals.paired else ""
    ahead: list[tuple[Placement, End, Mates]] = [(sink.speaker, End(TERMINALS, side, DRIVE), frozenset())]
    passed: set[Mate] = set()
    feeds: list[Feed] = []
    while ahead:
        owner, end, way = ahead.pop()
        here = Plug(owner, end.connector)
        for there in wired.partners.get(here, ()):
            mate = frozenset((here, there))
            if mate in way:
                continue
            passed.add(mate)
            wires = world.wires(there.owner)
            channel = wires.outputs.get((there.connector, end.lane))
            onward = wires.feeding.get(End(there.connector, end.side, end.lane))
            if channel is not None and _sounds(world, wired.build, there.owner, channel):
                feeds.append(Feed(there.owner, channel, way | {mate}))
            elif channel is None and onward is not None:
                ahead.append((there.owner, onward, way | {mate}))
    return passed, feeds


def _sounds(world: World, build: Build, owner: Placement, channel: Channel) -> bool:
    """Tell whether a channel feeds: one that needs a tag, only beside a part that has it."""
    return channel.needs is None or any(
        x.place == owner.place and channel.needs in world.part(x).tags for x in build
    )


# --- plugs that may not be there --------------------------------------------------------------------------------


def check_presence(world: World, wired: Wired, seen: frozenset[str]) -> Breaks:
    """Name plugs that may not be there and that nobody has seen mated."""
    for plug in sorted({plug for mate in wired.mates for plug in mate}):
        if plug.owner == LOOM and str(plug) not in seen and not _is_sure(world, plug):
            yield Clause.MAY_NOT_BE_THERE, str(plug)


def _is_sure(world: World, plug: Plug) -> bool:
    return plug.connector not in world.wires(LOOM).connectors or world.is_sure(plug.connector)
