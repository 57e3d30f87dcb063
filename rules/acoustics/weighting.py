"""A-weighting, and third-octave bands: how a spectrum becomes one dBA figure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.acoustics.level import energy_sum
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

BASE = 10 ** (3 / 10)
"""Frequency ratio of an octave, base 10 [1]. Source: IEC 61260-1, second-hand."""

EDGE = BASE ** (1 / 6)
"""Upper edge over midband of a third octave [1]. Source: IEC 61260-1, second-hand."""

_LOW, _UPPER_LOW, _LOWER_HIGH, _HIGH = 20.598997, 107.65265, 737.86223, 12194.217
"""Pole frequencies of the A-weighting [Hz]. Source: IEC 61672-1, annex E, second-hand."""

NOMINAL_HZ = (
    *(20.0, 25.0, 31.5, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0),
    *(630.0, 800.0, 1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0),
    *(10000.0, 12500.0, 16000.0, 20000.0),
)
"""Names of the third-octave bands [Hz], from index -17 to 13. Source: ISO 266, from memory."""

_FIRST = -17


def _a_shape(frequency: float) -> float:
    square = frequency**2
    return (_HIGH**2 * square**2) / (
        (square + _LOW**2)
        * math.sqrt((square + _UPPER_LOW**2) * (square + _LOWER_HIGH**2))
        * (square + _HIGH**2)
    )


def a_weighting(frequency_hz: float) -> float:
    """How much the A-weighting adds at a frequency.

    Args:
        frequency_hz: [Hz], above zero.

    Returns: [dB]; 0 at 1 kHz, negative for low notes.

    Equation: IEC 61672-1 annex E, analogue form with four pole frequencies, normalised at 1 kHz.
    Source: IEC 61672-1, second-hand.

    Example:
        >>> round(a_weighting(100), 1)
        -19.1
    """
    return 20 * math.log10(_a_shape(frequency_hz) / _a_shape(1000))


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A third-octave band: exact midband and edges [Hz]."""

    frequency_hz: float
    lower_hz: float
    upper_hz: float


def third_octave(band: int) -> Band:
    """Exact midband frequency and edges of a third-octave band.

    Args:
        band: Index [1]; 0 is 1 kHz, 3 an octave above.

    Equation: f = 1000 Hz x G^(k / 3), G = 10^0.3; edges f x G^(-1/6) and f x G^(1/6).
    Source: IEC 61260-1 (base 10), second-hand.

    Example:
        >>> round(third_octave(-12).frequency_hz, 3)
        63.096
    """
    middle = float(1000 * BASE ** (band / 3))
    return Band(frequency_hz=middle, lower_hz=middle / EDGE, upper_hz=middle * EDGE)


def nominal_at_least(frequency_hz: float) -> float:
    """Lowest named third-octave frequency not below a frequency; the highest one, 20 kHz, above that."""
    return min((x for x in NOMINAL_HZ if x >= frequency_hz), default=NOMINAL_HZ[-1])


def a_weighted_level(levels_db: tuple[float, ...], lowest_hz: float) -> float:
    """One dBA figure of a spectrum in third octaves.

    Args:
        levels_db: Level of each band [dB], without a gap, from the lowest up.
        lowest_hz: Name of the lowest band [Hz], such as 63.

    Returns: [dBA].

    Raises: MalformedQuestion if `lowest_hz` names no band, or the bands go past 20 kHz.

    Equation: energy sum of L_k + A(f_k) at the exact midbands.
    Source: IEC 61672-1 and IEC 61260-1, second-hand.

    Example:
        >>> round(a_weighted_level((80, 80, 80), 800), 1)
        84.7
    """
    if lowest_hz not in NOMINAL_HZ:
        raise MalformedQuestion(
            "lowest_hz", "lowest_hz names no third-octave band", "give a named frequency, such as 63 or 1000"
        )
    first = NOMINAL_HZ.index(lowest_hz)
    if first + len(levels_db) > len(NOMINAL_HZ):
        raise MalformedQuestion("levels_db", "there are bands above 20 kHz", "give fewer levels")
    return energy_sum(
        tuple(
            level + a_weighting(third_octave(_FIRST + first + place).frequency_hz)
            for place, level in enumerate(levels_db)
        )
    )


BAND = Input(name="band", unit="1", meaning="index; 0 is 1 kHz", kind="whole", least=-20, most=14)

CALCULATIONS = (
    Calculation(
        id="a_weighting",
        title="A-weighting at a frequency",
        topic="sound",
        function=a_weighting,
        inputs=(Input(name="frequency_hz", unit="Hz", meaning="frequency", least=1, most=100_000),),
        output=Output(name="weight_db", unit="dB", meaning="what the weighting adds"),
        equation="analogue A-weighting with poles at 20.6, 107.7, 737.9 and 12194 Hz, 0 dB at 1 kHz",
        validity="any audible frequency",
        source="IEC 61672-1, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="a_weighted_level",
        title="One dBA figure of a spectrum in third octaves",
        topic="sound",
        function=a_weighted_level,
        inputs=(
            Input(
                name="levels_db",
                unit="dB",
                meaning="level of each band from the lowest up",
                kind="numbers",
                least=-50,
                most=200,
            ),
            Input(name="lowest_hz", unit="Hz", meaning="name of the lowest band", least=20, most=20_000),
        ),
        output=Output(name="level_dba", unit="dBA", meaning="weighted level of all bands"),
        equation="energy sum of L_k + A(f_k) at the exact midbands",
        validity="third-octave bands without a gap",
        source="IEC 61672-1 and IEC 61260-1, second-hand",
        cautions=("estimate", "hearing"),
    ),
    Calculation(
        id="third_octave",
        title="Exact midband frequency and edges of a third-octave band",
        topic="sound",
        function=third_octave,
        inputs=(BAND,),
        output=Output(name="frequency_hz", unit="Hz", meaning="midband frequency"),
        others=(
            Output(name="lower_hz", unit="Hz", meaning="lower edge"),
            Output(name="upper_hz", unit="Hz", meaning="upper edge"),
        ),
        equation="f = 1000 Hz x 10^(k / 10); edges f x 10^(-0.05) and f x 10^0.05",
        validity="base-10 bands",
        source="IEC 61260-1, second-hand",
        cautions=("estimate",),
    ),
)
