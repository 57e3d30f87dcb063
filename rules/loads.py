"""What parts weigh on each limit of a bike, in columns of their own: the loads of a build are added in one step."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

from rules.columns import MASS_BITS, Columns

Limit = tuple[frozenset[str], float]
"""Places, and the most that may be at all of them together [kg]."""

_G = 1_000
"""Grams in a kilogram: masses are rounded up to the next one, so that no build is taken for lighter than it is."""


class Loads:
    """The limits of one bike.

    Args:
        limits: Every one; None where some are not known, so that nothing is surely within them.

    Attributes:
        over: The bits that sums on any limit set, which are not surely below it.
    """

    __slots__ = ("_columns", "_is_known", "_unknown", "over")

    def __init__(self, limits: Sequence[Limit] | None, columns: Columns) -> None:
        known = limits or ()
        self._columns = [
            (places, columns.sum(floor(most_kg * _G) - 2, MASS_BITS)) for places, most_kg in known
        ]
        # One more, for parts of which nobody knows the mass: one is one too many.
        self._unknown = columns.sum(0)
        self._is_known = limits is not None
        self.over = self._unknown.over + sum(column.over for _, column in self._columns)

    def of(self, place: str, mass_kg: float | None) -> int:
        """Give the load of a part at a place; of one whose mass is not known, one that is within no limit."""
        if mass_kg is None or not self._is_known:
            return self._unknown.unit
        mass = ceil(mass_kg * _G)
        return sum(mass * column.unit for places, column in self._columns if place in places)
