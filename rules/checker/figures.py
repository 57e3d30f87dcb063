"""Figures as they were written, for comparing exactly."""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache

from rules.electrical import load

FIGURES_KEPT = 4_096


@lru_cache(maxsize=FIGURES_KEPT)
def exact(value: float) -> Fraction:
    """Give the decimal number that was written; the same few come up in every plan."""
    return load.exact(value)
