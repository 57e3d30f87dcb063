"""What parts weigh on each limit of a bike, side by side in one number: the loads of a build are added in one step."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil

Limit = tuple[frozenset[str], float]
"""Places, and the most that may be at all of them together [kg]."""

_MG = 1_000_000
"""Milligrams in a kilogram: masses are rounded up to the next one, so that no build is taken for lighter than it is."""

_BITS = 48
"""Room for the sum on one limit [bits]: more than any build weighs."""

_MOST = (1 << _BITS) - 1


class Loads:
    """The limits of one bike.

    Args:
        limits: Every one; None where some are not known, so that nothing is surely within them.
    """

    def __init__(self, limits: Sequence[Limit] | None) -> None:
        self._limits = limits
        self._unknown = 1 << _BITS * len(limits or ())

    def of(self, place: str, mass_kg: float | None) -> int:
        """Give the load of a part at a place; of one whose mass is not known, one that is within no limit."""
        if mass_kg is None or self._limits is None:
            return self._unknown
        mass = ceil(mass_kg * _MG)
        return sum(mass << _BITS * at for at, (places, _) in enumerate(self._limits) if place in places)

    def are_within(self, load: int) -> bool:
        """Tell whether loads added up stay below every limit."""
        if load >= self._unknown:
            return False
        for _, most in self._limits or ():
            if (load & _MOST) >= (most * _MG) - 1:
                return False
            load >>= _BITS
        return True
