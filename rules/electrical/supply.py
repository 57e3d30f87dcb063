"""What amplifiers draw: at full output, at cruise, for long listening, idle; and voltage lost along their cable."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.amplifier import PLANNING_IDLE, efficiency
from rules.electrical.load import exact
from rules.units import Amps, Ratio, Volts, Watts

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Currents:
    """What an amplifier draws on average.

    Attributes:
        full_a: At full output: for fuse and cable.
        third_a: Loud at cruise: for the charging system.
        eighth_a: Long listening at a moderate level: for the battery.
        assumed: What its maker does not say and was taken for planning: efficiency, idle.
    """

    full_a: Amps
    third_a: Amps
    eighth_a: Amps
    idle_a: Amps
    assumed: tuple[str, ...]


def supply_currents(
    rated_w: Watts,
    amplifier_class: str,
    supply_v: Volts = SYSTEM_VOLTS,
    full_efficiency: Ratio | None = None,
    idle_a: Amps | None = None,
) -> Currents:
    """Average currents of an amplifier at full output, at cruise, for long listening and with no signal.

    Args:
        rated_w: Continuous power, sum over the channels in use [W].
        amplifier_class: "D" or "AB": how efficiency falls with power.
        supply_v: At the amplifier [V].
        full_efficiency: At rated power, as its maker says [0..1]; the class's planning figure if he does not.
        idle_a: With no signal [A]; the class's planning figure if nobody knows.

    Equation: I = I_idle + fraction x P / (efficiency at that fraction x U), for 1, 1/3 and 1/8 of rated power.
    Source: energy balance; one-eighth power as in 16 CFR 432 and IEC 62368-1, second-hand; one-third for heavily
        compressed music is common practice, no source.

    Example:
        >>> round(supply_currents(200.0, "D", 14.4, 0.85, 0.0).full_a, 2)
        16.34
    """
    idle = PLANNING_IDLE[amplifier_class] if idle_a is None else idle_a
    planned = efficiency(amplifier_class)
    scale = 1.0 if full_efficiency is None else full_efficiency / planned
    full, third, eighth = (
        idle + rated_w * part / (efficiency(amplifier_class, part) * scale * supply_v)
        for part in (1.0, 1 / 3, 1 / 8)
    )
    unknown = (("efficiency", full_efficiency), ("idle", idle_a))
    return Currents(
        full_a=full,
        third_a=third,
        eighth_a=eighth,
        idle_a=idle,
        assumed=tuple(name for name, value in unknown if value is None),
    )


CALCULATIONS = (
    Calculation(
        id="supply_currents",
        title="What an amplifier draws",
        topic="amplifiers",
        function=supply_currents,
        inputs=(
            Input(
                name="rated_w",
                unit="W",
                meaning="continuous (RMS) power, sum over the channels in use",
                least=0,
                most=10_000,
            ),
            Input(
                name="amplifier_class",
                unit="1",
                meaning="class of the amplifier",
                kind="word",
                choices=("D", "AB"),
            ),
            Input(
                name="supply_v",
                unit="V",
                meaning="supply at the amplifier",
                least=6,
                most=32,
                default=SYSTEM_VOLTS,
            ),
            Input(
                name="full_efficiency",
                unit="1",
                meaning="at rated power, as its maker says",
                least=0.1,
                most=1,
                optional=True,
            ),
            Input(
                name="idle_a",
                unit="A",
                meaning="with no signal, as its maker says",
                least=0,
                most=50,
                optional=True,
            ),
        ),
        output=Output(name="full_a", unit="A", meaning="at full output, for fuse and cable"),
        others=(
            Output(name="third_a", unit="A", meaning="at one-third power, for charging at cruise"),
            Output(name="eighth_a", unit="A", meaning="at one-eighth power, for long listening"),
            Output(name="idle_a", unit="A", meaning="with no signal"),
            Output(name="assumed", unit="1", meaning="what was taken for planning, as nobody said"),
        ),
        equation="I = I_idle + fraction x P / (efficiency at that fraction x U)",
        validity="averages of music; peaks are short and come from the amplifier's own store",
        source="energy balance; one-eighth power of 16 CFR 432 and IEC 62368-1, second-hand; one-third: common practice",
        cautions=("estimate", "fuse", "cable"),
    ),
)
