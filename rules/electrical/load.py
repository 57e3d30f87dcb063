"""Loads on amplifier channels: parallel impedance, power at an impedance, and each speaker's share."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from fractions import Fraction
from functools import lru_cache


@lru_cache(maxsize=4_096)
def exact(value: float) -> Fraction:
    """Give the decimal number that was written, free of binary rounding, so that limits are compared exactly.

    Example:
        >>> exact(0.1) * 3 == exact(0.3)
        True
    """
    return Fraction(str(value))


def parallel_impedance(impedances: Iterable[float]) -> Fraction:
    """Impedance of speakers in parallel.

    Args:
        impedances: Nominal impedance of each speaker [ohm], above zero; at least one.

    Returns: [ohm], exact.

    Equation: 1 / Z = sum of 1 / Z_i; nominal impedances, as rated.
    Source: Ohm's law; any circuit handbook.

    Example:
        >>> parallel_impedance([4, 4])
        Fraction(2, 1)
    """
    return _parallel(tuple(impedances))


@lru_cache(maxsize=4_096)
def _parallel(impedances: tuple[float, ...]) -> Fraction:
    return 1 / sum((1 / exact(z) for z in impedances), Fraction(0))


def rated_power(watts: Mapping[str, float], load: Fraction) -> float | None:
    """Most continuous power that a channel can put into a load, from its rated table.

    Args:
        watts: Rated impedance [ohm, as text] to continuous power [W].
        load: Impedance connected [ohm].

    Returns: The power at the largest rated impedance not above the load [W]: an upper bound, as power falls
        when impedance rises. None below the lowest rated impedance: nothing is extrapolated.

    Example:
        >>> rated_power({"4": 60.0, "2": 95.0}, Fraction(3))
        95.0
        >>> rated_power({"4": 60.0}, Fraction(2)) is None
        True
    """
    below = [(rated, power) for ohm, power in watts.items() if (rated := exact(float(ohm))) <= load]
    return max(below)[1] if below else None


@lru_cache(maxsize=4_096)
def power_share(power: float, load: Fraction, impedance: float) -> Fraction:
    """One speaker's share of a channel's power.

    Equation: P_i = P x Z / Z_i, all speakers in parallel on the same voltage.

    Returns: [W], exact.

    Example:
        >>> power_share(90, Fraction(2), 4)
        Fraction(45, 1)
    """
    return exact(power) * load / exact(impedance)
