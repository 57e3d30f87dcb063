"""Sets of placements as numbers, a bit for each that anything looks at: they are compared and joined in one step."""

from __future__ import annotations

from collections.abc import Iterable

from rules.build import Build, Placement


class Sights:
    """The bits of one bike, given out as placements are first looked at. One thread at a time may give some out."""

    def __init__(self) -> None:
        self._bits: dict[Placement, int] = {}
        self._placed: list[Placement] = []

    def bit(self, placed: Placement) -> int:
        """Give the bit of a placement; none, where nothing looks at it."""
        return self._bits.get(placed, 0)

    def new(self, seen: Iterable[Placement]) -> list[Placement]:
        """Give bits to those that have none, and tell which these are."""
        found = sorted({x for x in seen if x not in self._bits})
        for placed in found:
            self._bits[placed] = 1 << len(self._placed)
            self._placed.append(placed)
        return found

    def of(self, seen: Iterable[Placement]) -> int:
        """Give a set of placements that have bits as a number."""
        return sum({self._bits[x] for x in seen})

    def build(self, sight: int) -> Build:
        """Give a number as the set that it stands for."""
        placed = self._placed
        return frozenset([placed[at] for at in range(sight.bit_length()) if sight >> at & 1])
