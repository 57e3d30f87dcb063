"""What parts weigh on each limit of a bike, side by side in one number: the loads of a build are added in one step."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor

Limit = tuple[frozenset[str], float]
"""Places, and the most that may be at all of them together [kg]."""

_G = 1_000
"""Grams in a kilogram: masses are rounded up to the next one, so that no build is taken for lighter than it is."""

_BITS = 32
"""Room for the sum on one limit [bits]. The highest is set by a sum that reaches the limit, once its slack is added."""

_HIGHEST = 1 << (_BITS - 1)


class Loads:
    """The limits of one bike.

    Args:
        limits: Every one; None where some are not known, so that nothing is surely within them.
    """

    def __init__(self, limits: Sequence[Limit] | None) -> None:
        self._places = None if limits is None else [places for places, _ in limits]
        # One more, for parts of which nobody knows the mass: one is one too many.
        most = [*(max(floor(most_kg * _G) - 1, 0) for _, most_kg in limits or ()), 1]
        self._unknown = 1 << _BITS * (len(most) - 1)
        self._slack = _side_by_side([_HIGHEST - x for x in most])
        self._reached = _side_by_side([_HIGHEST for _ in most])

    def of(self, place: str, mass_kg: float | None) -> int:
        """Give the load of a part at a place; of one whose mass is not known, one that is within no limit."""
        if mass_kg is None or self._places is None:
            return self._unknown
        mass = ceil(mass_kg * _G)
        return _side_by_side([mass if place in places else 0 for places in self._places])

    def are_within(self, load: int) -> bool:
        """Tell whether loads added up stay below every limit."""
        return not (load + self._slack) & self._reached


def _side_by_side(fields: Sequence[int]) -> int:
    return sum(field << _BITS * at for at, field in enumerate(fields))
