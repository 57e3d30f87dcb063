"""Sound pressure levels: from pressure, added up, from power, and over distance."""

from __future__ import annotations

import math

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

REFERENCE_PA = 20e-6
"""Sound pressure of 0 dB [Pa]. Source: IEC 60268-5 20.2 and ISO 1683, second-hand."""

LEVEL = Input(
    name="levels_db", unit="dB", meaning="level of each source alone", kind="numbers", least=-20, most=200
)


def pressure_level(pressure_pa: float) -> float:
    """Level of a sound pressure.

    Args:
        pressure_pa: Effective sound pressure [Pa], above zero.

    Returns: [dB re 20 uPa].

    Equation: L = 20 log10(p / 20 uPa).
    Source: IEC 60268-5 20.2 / ISO 1683, second-hand.

    Example:
        >>> round(pressure_level(1), 2)
        93.98
    """
    return 20 * math.log10(pressure_pa / REFERENCE_PA)


def energy_sum(levels_db: tuple[float, ...]) -> float:
    """Level of sounds together that have nothing to do with each other, such as wind and music.

    Args:
        levels_db: Level of each alone [dB]; at least one.

    Returns: [dB]; never below the strongest.

    Equation: L = 10 log10(sum of 10^(L_i / 10)).
    Source: energy sum; any acoustics handbook.

    Example:
        >>> round(energy_sum((80, 80)), 2)
        83.01
    """
    strongest = max(levels_db)
    return strongest + 10 * math.log10(math.fsum(10 ** ((x - strongest) / 10) for x in levels_db))


def pressure_sum(levels_db: tuple[float, ...], phases_deg: tuple[float, ...] = ()) -> float:
    """Level of one tone from several speakers, which add by pressure and phase.

    Args:
        levels_db: Level of each alone [dB]; at least one.
        phases_deg: Phase of each where they meet [degrees], one per level; none: all in phase.

    Returns: [dB]. Speakers that cancel to less than a millionth of the loudest pressure give the level at
        that millionth: 120 dB down, below anything that can be measured on a bike.

    Raises: MalformedQuestion if there is not one phase for each level.

    Equation: L = 20 log10(|sum of 10^(L_i / 20) e^(j phi_i)|).
    Validity: one frequency, one place, no reflections.
    Source: sum of phasors; any acoustics handbook.

    Example:
        >>> round(pressure_sum((80, 80)), 2), round(pressure_sum((80, 80), (0, 90)), 2)
        (86.02, 83.01)
    """
    phases = phases_deg or (0.0,) * len(levels_db)
    if len(phases) != len(levels_db):
        raise MalformedQuestion(
            "phases_deg", "there is not one phase for each level", "give as many phases as levels, or none"
        )
    strongest = max(levels_db)
    parts = [
        (10 ** ((level - strongest) / 20), math.radians(phase))
        for level, phase in zip(levels_db, phases, strict=True)
    ]
    real = math.fsum(size * math.cos(angle) for size, angle in parts)
    imaginary = math.fsum(size * math.sin(angle) for size, angle in parts)
    return strongest + 20 * math.log10(max(math.hypot(real, imaginary), 1e-6))


def power_gain(power_w: float) -> float:
    """Rise of the level from one watt to a power.

    Args:
        power_w: [W], above zero.

    Returns: [dB]; negative below one watt.

    Equation: 10 log10(P / 1 W).
    Validity: no power compression: a hot voice coil gives some decibels less.
    Source: definition of the decibel.

    Example:
        >>> round(power_gain(50), 2)
        16.99
    """
    return 10 * math.log10(power_w)


def distance_gain(distance_m: float) -> float:
    """Change of the level from one metre to a distance.

    Args:
        distance_m: From the speaker [m], above zero.

    Returns: [dB]; negative beyond one metre.

    Equation: 20 log10(1 m / d).
    Validity: free field and a source that is small against the distance. On a bike, with a screen and a rider close
        by, it is rough: several decibels either way.
    Source: distance term of IEC 60268-5 20.4, second-hand.

    Example:
        >>> round(distance_gain(2), 2)
        -6.02
    """
    return -20 * math.log10(distance_m)


CALCULATIONS = (
    Calculation(
        id="pressure_level",
        title="Level of a sound pressure",
        topic="sound",
        function=pressure_level,
        inputs=(
            Input(name="pressure_pa", unit="Pa", meaning="effective sound pressure", least=1e-7, most=1e4),
        ),
        output=Output(name="level_db", unit="dB", meaning="level above 20 micropascal"),
        equation="L = 20 log10(p / 20 uPa)",
        validity="any sound pressure",
        source="IEC 60268-5 20.2 / ISO 1683, second-hand",
        cautions=("estimate", "hearing"),
    ),
    Calculation(
        id="level_sum",
        title="Level of unrelated sounds together",
        topic="sound",
        function=energy_sum,
        inputs=(LEVEL,),
        output=Output(name="level_db", unit="dB", meaning="level of all together"),
        equation="L = 10 log10(sum of 10^(L_i / 10))",
        validity="sounds that have nothing to do with each other, such as wind and music",
        source="energy sum; any acoustics handbook",
        cautions=("estimate", "hearing"),
    ),
    Calculation(
        id="speaker_sum",
        title="Level of one tone from several speakers",
        topic="sound",
        function=pressure_sum,
        inputs=(
            LEVEL,
            Input(
                name="phases_deg",
                unit="degree",
                meaning="phase of each; left out: all in phase",
                kind="numbers",
                least=-3600,
                most=3600,
                default=(),
            ),
        ),
        output=Output(name="level_db", unit="dB", meaning="level where they meet"),
        equation="L = 20 log10(|sum of 10^(L_i / 20) e^(j phi_i)|)",
        validity="one frequency, one place, no reflections: rough on a bike; cancelling stops at 120 dB down",
        source="sum of phasors; any acoustics handbook",
        cautions=("estimate", "hearing"),
    ),
    Calculation(
        id="power_gain",
        title="Rise of the level from one watt to a power",
        topic="sound",
        function=power_gain,
        inputs=(Input(name="power_w", unit="W", meaning="power into the speaker", least=1e-3, most=1e4),),
        output=Output(name="gain_db", unit="dB", meaning="rise against one watt"),
        equation="10 log10(P / 1 W)",
        validity="no power compression: a hot voice coil gives less",
        source="definition of the decibel",
        cautions=("estimate", "hearing"),
    ),
    Calculation(
        id="distance_gain",
        title="Change of the level from one metre to a distance",
        topic="sound",
        function=distance_gain,
        inputs=(Input(name="distance_m", unit="m", meaning="from the speaker", least=0.05, most=100),),
        output=Output(name="gain_db", unit="dB", meaning="change against one metre"),
        equation="20 log10(1 m / d)",
        validity="free field, small source; rough on a bike with a screen and a rider close by",
        source="distance term of IEC 60268-5 20.4, second-hand",
        cautions=("estimate", "outside"),
    ),
)
