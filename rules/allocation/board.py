"""All channels side by side: which exclude each other, which are alike, and what is left when some are used."""

from __future__ import annotations

from collections.abc import Iterator

from rules.allocation.answer import Limit
from rules.allocation.question import Kept, Output, Side, Source, ZoneLoad

Outputs = tuple[int, ...]
"""Channels by their number on the board: one for each side, left before right."""

Used = int
"""A bit for each channel that feeds something."""


class Board:
    """The channels of all sources, numbered in order. `lifted` is a limit that is not kept."""

    def __init__(self, sources: tuple[Source, ...], kept: Kept, lifted: Limit | None = None) -> None:
        self._kept = {} if lifted == "kept" else kept
        self.lifted = lifted
        self.channels = [(source, output) for source in sources for output in source.outputs]
        self._clashes = [self._clashing(i) for i in range(len(self.channels))]
        self._blocks = tuple(self._blocks_of())
        self._pairs = tuple(self._pairs_of())

    def ways(self, zone: ZoneLoad) -> tuple[Outputs, ...]:
        """Give the channels that may feed a zone, whatever else is fed, in order."""
        kept = self._kept.get(zone.name)
        ways = self._pairs if zone.pair else tuple((i,) for i in range(len(self.channels)))
        return tuple(
            way
            for way in ways
            if (kept is None or self._names(way) == [(kept[0], output) for output in kept[1]])
            and all(self._suits(i, side) for i, side in zip(way, zone.sides, strict=True))
        )

    def after(self, used: Used, way: Outputs) -> Used | None:
        """Give what is used once these channels are, too; None where they cannot be."""
        for i in way:
            if (used >> i) & 1 or used & self._clashes[i]:
                return None
            used |= 1 << i
        return used

    def left(self, used: Used) -> object:
        """Name what is left, up to exchanging channels that are alike: equal names serve the rest equally well."""
        marked = ((signature, tuple(used >> i & 1 for i in block)) for signature, block in self._blocks)
        return tuple(sorted(marked))

    def _names(self, way: Outputs) -> list[tuple[str, str]]:
        return [(self.channels[i][0].name, self.channels[i][1].id) for i in way]

    def _suits(self, i: int, side: Side) -> bool:
        return self.channels[i][1].side in (None, side)

    def _pairs_of(self) -> Iterator[Outputs]:
        for i in range(len(self.channels)):
            for j in range(len(self.channels)):
                if i != j and not (self._clashes[i] >> j) & 1 and self._is_pair(i, j):
                    yield i, j

    def _is_pair(self, i: int, j: int) -> bool:
        (one, first), (other, second) = self.channels[i], self.channels[j]
        return self.lifted == "alike" or (one is other and rating(first) == rating(second))

    def _clashing(self, i: int) -> Used:
        source, output = self.channels[i]
        if self.lifted == "bridge":
            return 0
        mask = 0
        for j, (other, second) in enumerate(self.channels):
            if i != j and source is other and _wires(output) & _wires(second):
                mask |= 1 << j
        return mask

    def _blocks_of(self) -> Iterator[tuple[str, Outputs]]:
        """Give the channels that exclude one another, together; a channel that excludes none, alone."""
        left = set(range(len(self.channels)))
        while left:
            block = {min(left)}
            while more := {j for i in block for j in left if (self._clashes[i] >> j) & 1} - block:
                block |= more
            left -= block
            yield self._signature(tuple(sorted(block))), tuple(sorted(block))

    def _signature(self, block: Outputs) -> str:
        ids = [self.channels[i][1].id for i in block]
        return repr(
            [
                (
                    source.name,
                    rating(output),
                    output.side,
                    [x in output.made_of for x in ids],
                    self._keeper(i),
                )
                for i, (source, output) in ((i, self.channels[i]) for i in block)
            ]
        )

    def _keeper(self, i: int) -> list[str]:
        # A channel that a zone keeps is like no other.
        source, output = self.channels[i]
        return sorted(
            zone for zone, (name, ids) in self._kept.items() if name == source.name and output.id in ids
        )


def rating(output: Output) -> object:
    """Give all that decides what a channel can drive."""
    return tuple(sorted(output.watts.items())), output.min_ohm


def _wires(output: Output) -> set[str]:
    return {output.id, *output.made_of}
