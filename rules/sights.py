"""Sets of placements as numbers, a bit for each that anything looks at: they are compared and joined in one step."""

from __future__ import annotations

from collections.abc import Iterable

from rules.build import Build, Placement
from rules.columns import Columns


class Sights:
    """The bits of one bike, given out as placements are first looked at. One thread at a time may give some out.

    Attributes:
        every: All bits that were given out.
    """

    __slots__ = ("_bits", "_columns", "_placed", "every")

    def __init__(self, columns: Columns) -> None:
        self.every = 0
        self._columns = columns
        self._bits: dict[Placement, int] = {}
        self._placed: dict[int, Placement] = {}

    def bit(self, placed: Placement) -> int:
        """Give the bit of a placement; none, where nothing looks at it."""
        return self._bits.get(placed, 0)

    def new(self, seen: Iterable[Placement]) -> list[Placement]:
        """Give bits to those that have none, and tell which these are."""
        found = sorted({x for x in seen if x not in self._bits})
        for placed in found:
            bit = self._bits[placed] = self._columns.bit()
            self._placed[bit] = placed
            self.every |= bit
        return found

    def of(self, seen: Iterable[Placement]) -> int:
        """Give a set of placements that have bits as a number."""
        return sum({self._bits[x] for x in seen})

    def build(self, sight: int) -> Build:
        """Give a number as the set that it stands for."""
        found: list[Placement] = []
        while sight:
            rest = sight & (sight - 1)
            found.append(self._placed[sight ^ rest])
            sight = rest
        return frozenset(found)
