"""What amplifiers draw: voltage lost along their cable, and current at cruise."""

from __future__ import annotations

from fractions import Fraction

from rules.electrical.load import exact

COPPER_OHM_MM2_PER_M = 0.0178
"""Resistivity of copper at about 28 degrees Celsius: 0.017241 x (1 + 0.00393 x 8).

Source: values of IEC 60028 (second-hand).
"""

SYSTEM_VOLTS = 13.8
"""Voltage at cruise with the charging system running (common practice, no source)."""


def voltage_drop(current: float, length: float, area: float) -> Fraction:
    """Voltage lost along a supply and return run of copper wire.

    Args:
        current: Steady draw at full output [A], zero or more.
        length: One way, battery to amplifier [m]; the return run is added here.
        area: Conductor cross-section [mm2], above zero.

    Returns: [V], exact.

    Equation: U = 2 x rho x L x I / A, rho = 0.0178 ohm mm2/m; bare copper, not for copper-clad aluminium.
    Source: Ohm's law with the resistivity of IEC 60028 (second-hand).

    Example:
        >>> float(voltage_drop(40, 1.5, 8))
        0.267
    """
    return 2 * exact(COPPER_OHM_MM2_PER_M) * exact(length) * exact(current) / exact(area)


def cruise_current(rated_watts: Fraction, efficiency: float, idle: float) -> Fraction:
    """Average current of an amplifier playing loud music at cruise.

    Args:
        rated_watts: Sum over channels at the highest rated impedance [W].
        efficiency: At one-third power [0..1].
        idle: Current with no signal [A].

    Returns: [A], exact.

    Equation: I = I_idle + P / 3 / efficiency / 13.8 V; one-third power stands for heavily compressed music.
    Source: common practice, no source.

    Example:
        >>> round(float(cruise_current(Fraction(240), 0.8, 0.6)), 2)
        7.85
    """
    return exact(idle) + rated_watts / 3 / exact(efficiency) / exact(SYSTEM_VOLTS)
