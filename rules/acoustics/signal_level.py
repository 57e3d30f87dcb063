"""Levels of electrical and digital signals: dBV, dBu, dBFS."""

from __future__ import annotations

import math

from rules.calculations.calculation import Calculation, Input, Output

REFERENCE_V = {"dBV": 1.0, "dBu": math.sqrt(0.6)}
"""Voltage of zero [V]. dBu: one milliwatt in 600 ohm. Source: definitions."""

SCALE = Input(
    name="scale", unit="1", meaning="which zero the level counts from", kind="word", choices=("dBV", "dBu")
)


def voltage_level(volts: float, scale: str) -> float:
    """Level of a voltage.

    Args:
        volts: RMS [V], above zero.
        scale: dBV (0 is 1 V) or dBu (0 is 0.7746 V).

    Returns: [dBV or dBu].

    Equation: L = 20 log10(U / U0).
    Source: definitions.

    Example:
        >>> round(voltage_level(2, "dBV"), 2)
        6.02
    """
    return 20 * math.log10(volts / REFERENCE_V[scale])


def level_voltage(level_db: float, scale: str) -> float:
    """Voltage of a level: the reverse of `voltage_level`.

    Returns: RMS [V].

    Example:
        >>> round(level_voltage(4, "dBu"), 3)
        1.228
    """
    return REFERENCE_V[scale] * 10 ** (level_db / 20)


def full_scale_level(amplitude: float) -> float:
    """Level of a sine below digital full scale.

    Args:
        amplitude: Peak over full scale [1], above zero and at most one.

    Returns: [dBFS]; a sine that just reaches full scale is 0 dBFS, in peak and in RMS alike.

    Equation: L = 20 log10(a).
    Source: AES17 / IEC 61606, second-hand. Meters that give RMS against full scale *without* this convention read a
        sine 3.01 dB lower.

    Example:
        >>> round(full_scale_level(0.5), 2)
        -6.02
    """
    return 20 * math.log10(amplitude)


def full_scale_amplitude(level_dbfs: float) -> float:
    """Peak of a sine over digital full scale: the reverse of `full_scale_level`.

    Returns: [1].

    Example:
        >>> round(full_scale_amplitude(-5), 4)
        0.5623
    """
    return 10 ** (level_dbfs / 20)


LEVEL = Input(name="level_db", unit="dB", meaning="level on that scale", least=-140, most=60)

CALCULATIONS = (
    Calculation(
        id="voltage_level",
        title="Level of a voltage in dBV or dBu",
        topic="signal",
        function=voltage_level,
        inputs=(Input(name="volts", unit="V", meaning="RMS voltage", least=1e-7, most=1000), SCALE),
        output=Output(name="level_db", unit="dB", meaning="level on that scale"),
        equation="L = 20 log10(U / U0); U0 is 1 V (dBV) or sqrt(0.6) V (dBu)",
        validity="any voltage",
        source="definitions",
        cautions=("estimate",),
    ),
    Calculation(
        id="level_voltage",
        title="Voltage of a level in dBV or dBu",
        topic="signal",
        function=level_voltage,
        inputs=(LEVEL, SCALE),
        output=Output(name="volts", unit="V", meaning="RMS voltage"),
        equation="U = U0 x 10^(L / 20); U0 is 1 V (dBV) or sqrt(0.6) V (dBu)",
        validity="any voltage",
        source="definitions",
        cautions=("estimate",),
    ),
    Calculation(
        id="full_scale_level",
        title="Level of a sine below digital full scale",
        topic="signal",
        function=full_scale_level,
        inputs=(Input(name="amplitude", unit="1", meaning="peak over full scale", least=1e-7, most=1),),
        output=Output(name="level_dbfs", unit="dBFS", meaning="level; a full-scale sine is 0"),
        equation="L = 20 log10(a)",
        validity="a sine, with the convention that a full-scale sine is 0 dBFS in RMS too",
        source="AES17 / IEC 61606, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="full_scale_amplitude",
        title="Peak of a sine of a level below digital full scale",
        topic="signal",
        function=full_scale_amplitude,
        inputs=(
            Input(
                name="level_dbfs", unit="dBFS", meaning="level; a full-scale sine is 0", least=-140, most=0
            ),
        ),
        output=Output(name="amplitude", unit="1", meaning="peak over full scale"),
        equation="a = 10^(L / 20)",
        validity="a sine",
        source="AES17 / IEC 61606, second-hand",
        cautions=("estimate",),
    ),
)
