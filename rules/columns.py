"""Numbers side by side in one, so that whatever adds up over the parts of a build is added in one step."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

COUNT_BITS, MASS_BITS = 16, 32
"""Widths of a column of parts and of one of masses [bits]: more than any build comes to, slack and all."""


@dataclass(slots=True, frozen=True, eq=False)
class Column:
    """Where one of the numbers stands, and how far it may go.

    Attributes:
        most: What it may come to.
        unit: One, where it stands.
        over: Its highest bit, which is set by more than the most once the slack of all columns is added.
    """

    most: int
    unit: int
    over: int

    def of(self, sums: int) -> int:
        """Give the number, out of sums without slack."""
        return (sums & (self.over * 2 - self.unit)) // self.unit


class Columns:
    """Gives columns out as they are needed. One thread at a time may take some.

    Attributes:
        slack: What is added to sums before their highest bits are looked at.
    """

    __slots__ = ("_width", "slack")

    def __init__(self) -> None:
        self._width = 0
        self.slack = 0

    def sum(self, most: int, bits: int = COUNT_BITS) -> Column:
        """Give a column for a sum."""
        column = _column(most, self._width, bits)
        self._width += bits
        self.slack += column.over - (most + 1) * column.unit
        return column

    def bit(self) -> int:
        """Give a column for what is there once or not at all."""
        self._width += 1
        return 1 << (self._width - 1)


@lru_cache(maxsize=10_000)
def _column(most: int, begins: int, bits: int) -> Column:
    """Give the same column each time: those of many bikes stand in the same place, and are near at hand then."""
    return Column(most, 1 << begins, 1 << (begins + bits - 1))
