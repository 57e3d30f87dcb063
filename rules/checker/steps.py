"""What a step does to wires: what is inserted, what is re-plugged, and what is rewired."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cached_property

from rules.build import Build, Placement
from rules.catalog.part import RUN_KINDS
from rules.checker.fault import Breaks, Clause
from rules.checker.plugs import Mate, Mates, Partners, Wired, partners_of
from rules.checker.world import LOOM, World

Side = tuple[str, str]
"""A place, and left, right or single."""

Source = tuple[Placement, str]
"""A part and the id of its channel."""


@dataclass(frozen=True)
class Step:
    """Two builds that follow each other, and their mates; the first may not be known to have any."""

    before: Build
    old: Mates
    after: Build
    new: Mates
    is_known: bool = True

    @cached_property
    def _was(self) -> Partners:
        return partners_of(self.old)

    @cached_property
    def _is(self) -> Partners:
        return partners_of(self.new)

    @cached_property
    def inserted(self) -> frozenset[Mate]:
        """Give the new mates of a part that comes in between two plugs that were mated."""
        return frozenset(mate for mate in self.new - self.old if any(self._inserts(mate)))

    def _inserts(self, mate: Mate) -> Iterator[bool]:
        for plug in mate:
            (facing,) = mate - {plug}
            if plug.owner != LOOM and plug.owner not in self.before:
                for former in self._was.get(facing, ()):
                    yield any(x.owner == plug.owner for x in self._is.get(former, ()))

    @property
    def split(self) -> frozenset[Mate]:
        """Give the mates between whose plugs a part has come in."""
        return frozenset(
            frozenset((one, other))
            for one, other in map(tuple, self.old - self.new)
            if any(
                x.owner == y.owner and x.owner not in self.before
                for x in self._is.get(one, ())
                for y in self._is.get(other, ())
            )
        )

    @cached_property
    def replugged(self) -> frozenset[Mate]:
        """Give the other new mates of a plug that has left one whose owner is still there."""
        if not self.is_known:
            return frozenset()
        lost = partners_of(self.old - self.new)
        return frozenset(
            mate
            for mate in self.new - self.old - self.inserted
            if any(self._stays(former.owner) for plug in mate for former in lost.get(plug, ()))
        )

    @property
    def replugged_parts(self) -> Build:
        """Give the placements that stay and own a plug of a re-plugged mate."""
        owners = frozenset(plug.owner for mate in self.replugged for plug in mate)
        return owners & self.before & self.after

    def _stays(self, owner: Placement) -> bool:
        return owner == LOOM or (owner in self.before and owner in self.after)


# --- rewired ----------------------------------------------------------------------------------------------------


def rewired_parts(world: World, before: Build, after: Build) -> Build:
    """Give the parts that cut or splice as they come in, and those run through the bike that go out."""
    spliced = {x for x in after - before if world.part(x).rewires}
    run = {x for x in before - after if world.part(x).kind in RUN_KINDS and x not in world.stock}
    return frozenset(spliced | run)


@dataclass(slots=True)
class Sides:
    """What fed each zone side last, and which sides went from an amplifier back to something else."""

    fed_by: dict[Side, Source] = field(default_factory=dict)
    returned: set[Side] = field(default_factory=set)

    def follow(self, world: World, before: Build, wired: Wired) -> Breaks:
        """Take the next step; name every side that is moved in a way that is rewiring."""
        for side, now in sides_of(wired).items():
            was = self.fed_by.get(side)
            if _is_amplifier(world, now) and side in self.returned:
                yield Clause.REWIRED_SIDE, f"{side[0]}:{side[1]} goes to an amplifier again"
            if was is not None and _is_amplifier(world, was):
                allowed = _successors(world, before, wired.build, was)
                if allowed is not None and now not in allowed:
                    yield Clause.REWIRED_SIDE, f"{side[0]}:{side[1]} from {_shown(was)} to {_shown(now)}"
                if not _is_amplifier(world, now):
                    self.returned.add(side)
            self.fed_by[side] = now


def sides_of(wired: Wired) -> dict[Side, Source]:
    """Give what feeds each zone side."""
    return {
        (sink.speaker.place, sink.side): (feed.source, feed.channel.id) for sink, feed in wired.feeds.items()
    }


def _successors(world: World, before: Build, after: Build, was: Source) -> list[Source] | None:
    """Give what may feed a side after an amplifier's channel did; None: anything."""
    amplifier, channel = was
    if amplifier in after:
        return [was]
    come = [
        x
        for x in after - before
        if world.slot(x) == world.slot(amplifier) and world.part(x).kind == "amplifier"
    ]
    return [(x, channel) for x in come] or None


def _is_amplifier(world: World, source: Source) -> bool:
    return world.part(source[0]).kind == "amplifier"


def _shown(source: Source) -> str:
    return f"{source[0]}:{source[1]}"
