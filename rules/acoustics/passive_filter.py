"""Filters of coils and capacitors in a speaker lead: the bass blocker, and the second order."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output

E6 = (1.0, 1.5, 2.2, 3.3, 4.7, 6.8, 10.0)
"""Values that capacitors are made in, of each decade. Source: IEC 60063, series E6, from memory."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BassBlocker:
    """A capacitor in series with a speaker.

    Attributes:
        capacitance_uf: What the corner asks for [uF].
        standard_uf: The nearest value that is made [uF].
        made_corner_hz: The corner that it makes [Hz].
    """

    capacitance_uf: float
    standard_uf: float
    made_corner_hz: float


def bass_blocker(corner_hz: float, impedance_ohm: float) -> BassBlocker:
    """Capacitor that keeps the bass from a speaker where no filter can be set.

    Args:
        corner_hz: Where the level is down by 3 dB [Hz], above zero.
        impedance_ohm: Rated [ohm], above zero.

    Equation: C = 1 / (2 pi f Z); the nearest of series E6 by ratio.
    Validity: a resistor of the rated impedance. At a speaker's resonance its impedance is several times that, and the
        capacitor blocks less there: 6 dB an octave protects little. Non-polarised, for the amplifier's voltage.
    Source: first-order high-pass; any circuit handbook.

    Example:
        >>> found = bass_blocker(4000, 4)
        >>> round(found.capacitance_uf, 3), found.standard_uf
        (9.947, 10.0)
    """
    wanted = 1e6 / (2 * math.pi * corner_hz * impedance_ohm)
    standard = nearest_made(wanted)
    return BassBlocker(
        capacitance_uf=wanted,
        standard_uf=standard,
        made_corner_hz=1e6 / (2 * math.pi * standard * impedance_ohm),
    )


def nearest_made(value: float) -> float:
    """Give the value of series E6 that is nearest by ratio; of two alike the smaller."""
    decade = 10.0 ** math.floor(math.log10(value))
    return min((round(x * decade, 12) for x in E6), key=lambda x: abs(math.log(x / value)))


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondOrder:
    """A coil [uH] and a capacitor [uF]."""

    inductance_uh: float
    capacitance_uf: float


def passive_second_order(corner_hz: float, impedance_ohm: float) -> SecondOrder:
    """Coil and capacitor of a Butterworth filter of second order in a speaker lead.

    Args:
        corner_hz: Where the level is down by 3 dB [Hz], above zero.
        impedance_ohm: Rated [ohm], above zero.

    Returns: Low-pass: the coil in series, the capacitor across the speaker. High-pass: the other way round.

    Equation: L = sqrt(2) R / (2 pi f), C = 1 / (sqrt(2) 2 pi f R).
    Validity: a resistor of the rated impedance; a coil without resistance.
    Source: Butterworth filter with one resistive end; any circuit handbook.

    Example:
        >>> found = passive_second_order(2000, 4)
        >>> round(found.inductance_uh, 1), round(found.capacitance_uf, 2)
        (450.2, 14.07)
    """
    angular = 2 * math.pi * corner_hz
    return SecondOrder(
        inductance_uh=1e6 * math.sqrt(2) * impedance_ohm / angular,
        capacitance_uf=1e6 / (math.sqrt(2) * angular * impedance_ohm),
    )


CORNER = Input(name="corner_hz", unit="Hz", meaning="where the level is down by 3 dB", least=10, most=20_000)
IMPEDANCE = Input(
    name="impedance_ohm", unit="ohm", meaning="rated impedance of the speaker", least=0.5, most=64
)
RESISTIVE = "a resistor of the rated impedance; a speaker is one only roughly, least of all at its resonance"

CALCULATIONS = (
    Calculation(
        id="bass_blocker",
        title="Capacitor that keeps the bass from a speaker",
        topic="filters",
        function=bass_blocker,
        inputs=(CORNER, IMPEDANCE),
        output=Output(name="capacitance_uf", unit="uF", meaning="what the corner asks for; non-polarised"),
        others=(
            Output(name="standard_uf", unit="uF", meaning="nearest value that is made"),
            Output(name="made_corner_hz", unit="Hz", meaning="corner that it makes"),
        ),
        equation="C = 1 / (2 pi f Z)",
        validity=RESISTIVE,
        source="first-order high-pass; series E6 of IEC 60063 from memory",
        cautions=("estimate", "wiring"),
    ),
    Calculation(
        id="passive_second_order",
        title="Coil and capacitor of a second-order filter in a speaker lead",
        topic="filters",
        function=passive_second_order,
        inputs=(CORNER, IMPEDANCE),
        output=Output(
            name="inductance_uh", unit="uH", meaning="in series for a low-pass, across for a high-pass"
        ),
        others=(
            Output(
                name="capacitance_uf", unit="uF", meaning="across for a low-pass, in series for a high-pass"
            ),
        ),
        equation="L = sqrt(2) R / (2 pi f), C = 1 / (sqrt(2) 2 pi f R)",
        validity=RESISTIVE,
        source="Butterworth filter with one resistive end; any circuit handbook",
        cautions=("estimate", "wiring"),
    ),
)
