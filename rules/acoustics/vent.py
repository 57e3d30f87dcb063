"""A vent in a box: what it is tuned to, and how fast the air in it moves. All of this is rough."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output

END_RADII = {"flanged": 8 / (3 * math.pi), "free": 0.6133}
"""How much longer an end of a tube acts, in radii [1].

Source: 8 / (3 pi) for an end in a large panel; Levine and Schwinger 1948 for a free one, from memory.
"""

TWO_FLANGED_RADII = 1.70
"""Both ends in a panel, in radii [1], as handbooks round 2 x 8 / (3 pi) = 1.698."""

SPEED_20C = 343.2
"""Speed of sound in dry air at 20 degrees Celsius [m/s]. Source: ISO 9613-1, from memory."""

FAST_AIR = 0.05
"""Air in a vent begins to chuff at about this part of the speed of sound [1]. Common practice, no source."""


def sound_speed(air_c: float) -> float:
    """Speed of sound in dry air.

    Args:
        air_c: Temperature of the air [degrees Celsius].

    Returns: [m/s].

    Equation: c = 343.2 m/s x sqrt(T / 293.15 K).
    Source: ISO 9613-1, from memory.

    Example:
        >>> sound_speed(20)
        343.2
    """
    return SPEED_20C * math.sqrt((air_c + 273.15) / 293.15)


def end_correction(end: str) -> float:
    """How much longer one end of a tube acts.

    Args:
        end: flanged: in a large panel; free: standing in the open.

    Returns: In radii of the tube [1].

    Source: see `END_RADII`.

    Example:
        >>> round(end_correction("flanged"), 4)
        0.8488
    """
    return END_RADII[end]


def vent_tuning(
    volume_l: float, diameter_mm: float, length_mm: float, end_radii: float, air_c: float
) -> float:
    """Frequency that a box with one round vent is tuned to.

    Args:
        volume_l: Air in the box, less speaker and vent [L], above zero.
        diameter_mm: Inner, of the vent [mm], above zero.
        length_mm: Of the vent [mm]; panel thickness if it is a hole.
        end_radii: Sum of the corrections of both ends, in radii [1], above zero.
        air_c: Temperature [degrees Celsius].

    Returns: [Hz].

    Equation: f = c / (2 pi) x sqrt(S / (V x (L + k r))).
    Validity: rough. A pod that is no plain box, a bent vent, or an end near a wall shifts it by a tenth and more:
        measure the impedance or listen.
    Source: Helmholtz resonator; any acoustics handbook.

    Example:
        >>> round(vent_tuning(20, 50, 100, 1.7, 20), 3)
        45.338
    """
    radius = diameter_mm / 2000
    long = length_mm / 1000 + end_radii * radius
    return sound_speed(air_c) / (2 * math.pi) * math.sqrt(math.pi * radius**2 / (volume_l / 1000 * long))


@dataclass(frozen=True, slots=True, kw_only=True)
class VentAir:
    """Peak speed of the air in a vent, and the speed at which it begins to chuff [m/s]."""

    speed_ms: float
    limit_ms: float


def vent_air(
    frequency_hz: float, cone_cm2: float, excursion_mm: float, diameter_mm: float, air_c: float
) -> VentAir:
    """Highest speed of the air in a round vent, were all that the cone moves to go through it.

    Args:
        frequency_hz: [Hz], above zero.
        cone_cm2: Area of the cone [cm2], above zero.
        excursion_mm: One way, peak [mm], zero or more.
        diameter_mm: Inner, of the vent [mm], above zero.
        air_c: Temperature [degrees Celsius].

    Equation: v = 2 pi f x Sd x x_peak / S; limit 5 % of the speed of sound.
    Validity: rough, near the tuning, with the excursion that the cone really has there.
    Source: continuity; the limit is common practice without a source.

    Example:
        >>> found = vent_air(45, 130, 1.5, 50, 20)
        >>> round(found.speed_ms, 1), round(found.limit_ms, 1)
        (2.8, 17.2)
    """
    moved = 2 * math.pi * frequency_hz * cone_cm2 * 1e-4 * excursion_mm * 1e-3
    return VentAir(
        speed_ms=moved / (math.pi * (diameter_mm / 2000) ** 2), limit_ms=FAST_AIR * sound_speed(air_c)
    )


AIR = Input(name="air_c", unit="degC", meaning="temperature of the air", least=-40, most=60, default=20)
DIAMETER = Input(name="diameter_mm", unit="mm", meaning="inner diameter of the vent", least=5, most=300)
ROUGH = "rough: a pod is no plain box; a tenth off and more; measure before anything is cut"

CALCULATIONS = (
    Calculation(
        id="sound_speed",
        title="Speed of sound in dry air",
        topic="boxes",
        function=sound_speed,
        inputs=(AIR,),
        output=Output(name="speed_ms", unit="m/s", meaning="speed of sound"),
        equation="c = 343.2 m/s x sqrt(T / 293.15 K)",
        validity="dry air near sea level",
        source="ISO 9613-1, from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="end_correction",
        title="How much longer one end of a vent acts",
        topic="boxes",
        function=end_correction,
        inputs=(
            Input(name="end", unit="1", meaning="how the end stands", kind="word", choices=tuple(END_RADII)),
        ),
        output=Output(name="radii", unit="1", meaning="in radii of the vent"),
        equation="8 / (3 pi) flanged; 0.6133 free",
        validity="round vents, low notes",
        source="8 / (3 pi); Levine and Schwinger 1948, from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="vent_tuning",
        title="Frequency that a vented box is tuned to",
        topic="boxes",
        function=vent_tuning,
        inputs=(
            Input(
                name="volume_l",
                unit="L",
                meaning="air in the box, less speaker and vent",
                least=0.05,
                most=1000,
            ),
            DIAMETER,
            Input(name="length_mm", unit="mm", meaning="length of the vent", least=0, most=2000),
            Input(
                name="end_radii",
                unit="1",
                meaning="corrections of both ends; 1.70: both in a panel, 1.46: one of them free",
                least=0.5,
                most=2,
                default=TWO_FLANGED_RADII,
            ),
            AIR,
        ),
        output=Output(name="tuning_hz", unit="Hz", meaning="frequency of the vent"),
        equation="f = c / (2 pi) x sqrt(S / (V x (L + k r)))",
        validity=ROUGH,
        source="Helmholtz resonator; any acoustics handbook",
        cautions=("estimate",),
    ),
    Calculation(
        id="vent_air",
        title="Speed of the air in a vent",
        topic="boxes",
        function=vent_air,
        inputs=(
            Input(name="frequency_hz", unit="Hz", meaning="frequency", least=5, most=500),
            Input(name="cone_cm2", unit="cm2", meaning="area of the cone", least=5, most=2000),
            Input(name="excursion_mm", unit="mm", meaning="one way, peak", least=0, most=50),
            DIAMETER,
            AIR,
        ),
        output=Output(name="speed_ms", unit="m/s", meaning="peak speed of the air"),
        others=(
            Output(name="limit_ms", unit="m/s", meaning="5 % of the speed of sound: it begins to chuff"),
        ),
        limit="limit_ms",
        equation="v = 2 pi f x Sd x x_peak / S",
        validity=ROUGH,
        source="continuity; the limit is common practice, no source",
        cautions=("estimate",),
    ),
)
