"""Wind noise in a helmet, and what a helmet keeps out, from published measurements."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output

SLOW_KMH, SLOW_DBA = 40 * 1.609344, 90.0
"""Wind noise at the ear at about 40 mph. Source: McCombe 1994, thesis, second-hand."""

FAST_KMH, FAST_DBA = 100 * 1.609344, 110.0
"""Wind noise at the ear at 100 mph. Source: McCombe 1994, thesis, second-hand."""

SLOPE_DB = (FAST_DBA - SLOW_DBA) / math.log10(FAST_KMH / SLOW_KMH)
"""Growth for ten times the speed [dB]: of the line between the two, about 50, that is about 15 dB for twice."""

SPREAD_DB = 3.0
"""How far published averages lie from the line [dB]. One rider, helmet and screen may lie further off."""

QUIET_BELOW_HZ, STEEP_DB, TREBLE_HZ, TREBLE_DB = 250.0, 8.5, 8000.0, 30.0
"""A helmet's insertion loss: none below 250 Hz, 8 to 9 dB an octave above 500 Hz, about 30 dB at 8 kHz.

Source: Int J Occup Saf Ergon 2009 15(3):287-293, abstract.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class WindNoise:
    """Wind noise at the ear inside a full-face helmet.

    Attributes:
        level_dba: Average [dBA].
        least_dba: Lowest of published averages [dBA].
        most_dba: Highest of published averages [dBA].
        growth_db: For ten times the speed [dB/decade]; about 15 dB for twice.
    """

    level_dba: float
    least_dba: float
    most_dba: float
    growth_db: float


def wind_noise(speed_kmh: float) -> WindNoise:
    """Wind noise at the ear of a rider in a helmet.

    Args:
        speed_kmh: Speed through the air [km/h], 64 to 161: the range of the measurements; nothing is extrapolated.

    Equation: L = 90 + 50.3 log10(v / 64.4 km/h), give or take 3 dB.
    Validity: riders' averages over helmets of the 1990s, without earplugs. A screen that throws its wake at the
        helmet, an open helmet or a tall rider can add several decibels; nobody's own helmet is promised anything.
    Source: McCombe 1994 (thesis: 90 dBA at 40 mph, 110 dBA at 100 mph, linear in the logarithm of speed) and
        Occup. Med. 44(5):239-242 (95 dBA at 22 m/s, 107 dBA at 36 m/s), second-hand. The spread is ours, from how
        these lie about the line.

    Example:
        >>> round(wind_noise(100).level_dba, 1)
        99.6
    """
    level = SLOW_DBA + SLOPE_DB * math.log10(speed_kmh / SLOW_KMH)
    return WindNoise(
        level_dba=level, least_dba=level - SPREAD_DB, most_dba=level + SPREAD_DB, growth_db=SLOPE_DB
    )


def wind_growth(slower_kmh: float, faster_kmh: float) -> float:
    """How much the wind noise grows from one speed to another.

    Returns: [dB].

    Equation: 50.3 log10(v2 / v1).
    Source: McCombe 1994, as `wind_noise`.

    Example:
        >>> round(wind_growth(80, 160), 1)
        15.1
    """
    return SLOPE_DB * math.log10(faster_kmh / slower_kmh)


def helmet_loss(frequency_hz: float) -> float:
    """How much weaker a sound from outside is inside a full-face helmet.

    Args:
        frequency_hz: [Hz], above zero and at most 16000.

    Returns: [dB], zero or more; give or take 5 dB.

    Equation: 30 - 8.5 log2(8000 / f), at least 0. It reaches 0 at about 700 Hz; between 250 and 700 Hz the zero is ours.
    Validity: three helmets in a laboratory, without the noise of wind.
    Source: Int J Occup Saf Ergon 2009 15(3):287-293, abstract.

    Example:
        >>> helmet_loss(8000), helmet_loss(200)
        (30.0, 0.0)
    """
    if frequency_hz <= QUIET_BELOW_HZ:
        return 0.0
    return max(0.0, TREBLE_DB - STEEP_DB * math.log2(TREBLE_HZ / frequency_hz))


SPEED_RANGE = (64.0, 161.0)
"""Speeds of the measurements [km/h]: 40 and 100 mph."""

SOURCE = "McCombe 1994 and Occup. Med. 44(5):239-242, second-hand; see also Brown and Gordon 2011"


def speed_input(name: str, meaning: str) -> Input:
    """Make an input for a speed within the measurements."""
    return Input(name=name, unit="km/h", meaning=meaning, least=SPEED_RANGE[0], most=SPEED_RANGE[1])


CALCULATIONS = (
    Calculation(
        id="wind_noise",
        title="Wind noise at the ear inside a helmet",
        topic="hearing",
        function=wind_noise,
        inputs=(speed_input("speed_kmh", "speed through the air"),),
        output=Output(name="level_dba", unit="dBA", meaning="average at the ear, without earplugs"),
        others=(
            Output(name="least_dba", unit="dBA", meaning="lowest of published averages"),
            Output(name="most_dba", unit="dBA", meaning="highest of published averages"),
            Output(name="growth_db", unit="dB/decade", meaning="for ten times the speed"),
        ),
        equation="L = 90 + 50.3 log10(v / 64.4 km/h), give or take 3 dB",
        validity="averages over riders, 64 to 161 km/h; one helmet or screen may lie further off",
        source=SOURCE,
        cautions=("estimate", "wind", "hearing"),
    ),
    Calculation(
        id="wind_growth",
        title="Growth of wind noise from one speed to another",
        topic="hearing",
        function=wind_growth,
        inputs=(speed_input("slower_kmh", "first speed"), speed_input("faster_kmh", "second speed")),
        output=Output(name="growth_db", unit="dB", meaning="rise of the level"),
        equation="50.3 log10(v2 / v1)",
        validity="as wind_noise",
        source=SOURCE,
        cautions=("estimate", "wind", "hearing"),
    ),
    Calculation(
        id="helmet_loss",
        title="What a helmet keeps out of a sound from outside",
        topic="hearing",
        function=helmet_loss,
        inputs=(Input(name="frequency_hz", unit="Hz", meaning="frequency", least=20, most=16_000),),
        output=Output(name="loss_db", unit="dB", meaning="weaker inside by"),
        equation="30 - 8.5 log2(8000 Hz / f), at least 0",
        validity="three full-face helmets in a laboratory; give or take 5 dB; the 250 to 700 Hz part is ours",
        source="Int J Occup Saf Ergon 2009 15(3):287-293, abstract",
        cautions=("estimate", "controls"),
    ),
)
