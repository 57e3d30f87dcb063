"""What a speaker makes of a watt: its sensitivity as makers print it, and the level at the rider's ear."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.acoustics.level import REFERENCE_PA, distance_gain, power_gain
from rules.calculations.calculation import Calculation, Input, Output

PRINTED_POWER_W = 8.0
"""Square of the 2.83 V that sheets print: the voltage of one watt in 8 ohm, sqrt(8) V."""

AIR_RAYL = 411.6
"""Density times speed of sound of the air [Pa s/m]: 1.2 kg/m3 x 343 m/s."""

SINE_CREST_DB = 10 * math.log10(2)
"""Crest factor of a sine [dB]: its peak power is twice its average."""


def watt_voltage(power_w: float, impedance_ohm: float) -> float:
    """Voltage that puts a power into a rated impedance.

    Args:
        power_w: [W], above zero.
        impedance_ohm: Rated [ohm], above zero.

    Returns: RMS [V].

    Equation: U = sqrt(R x P).
    Source: IEC 60268-5 20.3.2, second-hand.

    Example:
        >>> watt_voltage(1, 4)
        2.0
    """
    return math.sqrt(power_w * impedance_ohm)


@dataclass(frozen=True, slots=True, kw_only=True)
class WattSensitivity:
    """Sensitivity for 1 W at 1 m, and how much higher the figure for 2.83 V is printed [dB]."""

    sensitivity_db: float
    printed_higher_db: float


def watt_sensitivity(printed_db: float, impedance_ohm: float) -> WattSensitivity:
    """Sensitivity for one watt at one metre, from the figure for 2.83 V at one metre.

    Args:
        printed_db: As printed, for 2.83 V [dB].
        impedance_ohm: Rated [ohm], above zero.

    Returns: A 4-ohm speaker draws two watts from 2.83 V: its figure falls by 3 dB.

    Equation: S(1 W) = S(2.83 V) - 10 log10(8 / Z); 2.83 V is taken as sqrt(8) V.
    Source: IEC 60268-5 20.3.2 and 20.4, second-hand.

    Example:
        >>> round(watt_sensitivity(93, 4).sensitivity_db, 2)
        89.99
    """
    higher = 10 * math.log10(PRINTED_POWER_W / impedance_ohm)
    return WattSensitivity(sensitivity_db=printed_db - higher, printed_higher_db=higher)


def efficiency_sensitivity(efficiency: float) -> float:
    """Sensitivity from a speaker's reference efficiency.

    Args:
        efficiency: Acoustic power over electrical power [1], above zero and at most one.

    Returns: [dB for 1 W at 1 m], radiating into half space.

    Equation: S = 10 log10(eta x rho c / (2 pi p0^2)), rho c = 411.6 Pa s/m.
    Validity: in the speaker's piston range, on a large baffle. In a small pod the lowest notes fall short of it.
    Source: definition of efficiency; the constant 112.1 dB is from memory.

    Example:
        >>> round(efficiency_sensitivity(0.01), 1)
        92.1
    """
    return 10 * math.log10(efficiency * AIR_RAYL / (2 * math.pi) / REFERENCE_PA**2)


def free_field_level(sensitivity_db: float, power_w: float, distance_m: float) -> float:
    """Level of one speaker in the open.

    Args:
        sensitivity_db: For 1 W at 1 m [dB].
        power_w: Power into it [W], above zero.
        distance_m: To the ear [m], above zero.

    Returns: [dB].

    Equation: L = S + 10 log10(P) - 20 log10(d).
    Validity: free field. It leaves out screen, helmet, ground, wind, and the loss of a hot voice coil: good for
        choosing between systems, and no promise of a level.
    Source: terms of IEC 60268-5 20.4, second-hand.

    Example:
        >>> round(free_field_level(90, 25, 0.7), 2)
        107.08
    """
    return sensitivity_db + power_gain(power_w) + distance_gain(distance_m)


@dataclass(frozen=True, slots=True, kw_only=True)
class MusicLevel:
    """Average level of music that just does not clip.

    Attributes:
        level_db: Average over a passage, at the ear, free field [dB].
        power_w: What the speaker takes on average [W].
        limited_by: Whose rating holds it back: amplifier or speaker.
    """

    level_db: float
    power_w: float
    limited_by: str


def music_level(
    sensitivity_db: float, amplifier_w: float, speaker_w: float, crest_db: float, distance_m: float
) -> MusicLevel:
    """Average level of music at the least of two limits: the amplifier just does not clip, the speaker keeps its rating.

    Args:
        sensitivity_db: For 1 W at 1 m [dB].
        amplifier_w: Continuous sine power into this speaker [W], above zero.
        speaker_w: Continuous rating of the speaker [W], above zero.
        crest_db: Peak over average of the music [dB], at least that of a sine, 3.01. Squeezed music has 6 to 10,
            open recordings 12 to 20 (common practice, no source).
        distance_m: To the ear [m], above zero.

    Equation: P = min(2 x P_amp / 10^(crest / 10), P_speaker); then as `free_field_level`.
    Validity: as `free_field_level`; RMS ratings only, since peak figures follow no common test.
    Source: definition of the crest factor; IEC 60268-5 20.4, second-hand.

    Example:
        >>> found = music_level(90, 50, 60, 10, 0.7)
        >>> round(found.level_db, 1), round(found.power_w, 1), found.limited_by
        (103.1, 10.0, 'amplifier')
    """
    unclipped = amplifier_w * 10 ** ((SINE_CREST_DB - max(crest_db, SINE_CREST_DB)) / 10)
    power = min(unclipped, speaker_w)
    return MusicLevel(
        level_db=free_field_level(sensitivity_db, power, distance_m),
        power_w=power,
        limited_by="amplifier" if unclipped <= speaker_w else "speaker",
    )


SENSITIVITY = Input(name="sensitivity_db", unit="dB", meaning="for 1 W at 1 m", least=60, most=120)
IMPEDANCE = Input(name="impedance_ohm", unit="ohm", meaning="rated impedance", least=0.5, most=64)
DISTANCE = Input(name="distance_m", unit="m", meaning="from the speaker to the ear", least=0.1, most=100)
ROUGH = (
    "free field; leaves out screen, helmet, ground and wind: for choosing between systems, never a promise"
)
LOUD = ("estimate", "hearing", "wind", "controls", "outside")

CALCULATIONS = (
    Calculation(
        id="watt_voltage",
        title="Voltage that puts a power into a rated impedance",
        topic="sound",
        function=watt_voltage,
        inputs=(Input(name="power_w", unit="W", meaning="power", least=1e-3, most=1e4), IMPEDANCE),
        output=Output(name="volts", unit="V", meaning="RMS voltage"),
        equation="U = sqrt(R x P)",
        validity="the rated impedance; the real one moves with frequency",
        source="IEC 60268-5 20.3.2, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="watt_sensitivity",
        title="Sensitivity for one watt from the figure for 2.83 V",
        topic="sound",
        function=watt_sensitivity,
        inputs=(
            Input(name="printed_db", unit="dB", meaning="as printed, for 2.83 V at 1 m", least=60, most=120),
            IMPEDANCE,
        ),
        output=Output(name="sensitivity_db", unit="dB", meaning="for 1 W at 1 m"),
        others=(
            Output(name="printed_higher_db", unit="dB", meaning="how much higher the printed figure is"),
        ),
        equation="S(1 W) = S(2.83 V) - 10 log10(8 / Z)",
        validity="the rated impedance; 2.83 V is taken as sqrt(8) V",
        source="IEC 60268-5 20.3.2 and 20.4, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="efficiency_sensitivity",
        title="Sensitivity from reference efficiency",
        topic="sound",
        function=efficiency_sensitivity,
        inputs=(
            Input(name="efficiency", unit="1", meaning="acoustic over electrical power", least=1e-6, most=1),
        ),
        output=Output(name="sensitivity_db", unit="dB", meaning="for 1 W at 1 m into half space"),
        equation="S = 10 log10(eta x rho c / (2 pi p0^2)), rho c = 411.6 Pa s/m",
        validity="piston range, large baffle; in a small pod the lowest notes fall short of it",
        source="definition of efficiency; 112.1 dB from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="free_field_level",
        title="Level of one speaker in the open",
        topic="sound",
        function=free_field_level,
        inputs=(
            SENSITIVITY,
            Input(name="power_w", unit="W", meaning="power into the speaker", least=1e-3, most=1e4),
            DISTANCE,
        ),
        output=Output(name="level_db", unit="dB", meaning="level at that distance"),
        equation="L = S + 10 log10(P) - 20 log10(d)",
        validity=ROUGH,
        source="terms of IEC 60268-5 20.4, second-hand",
        cautions=LOUD,
    ),
    Calculation(
        id="music_level",
        title="Average level of music that just does not clip",
        topic="sound",
        function=music_level,
        inputs=(
            SENSITIVITY,
            Input(
                name="amplifier_w",
                unit="W",
                meaning="continuous power into this speaker",
                least=0.1,
                most=1e4,
            ),
            Input(
                name="speaker_w", unit="W", meaning="continuous rating of the speaker", least=0.1, most=1e4
            ),
            Input(
                name="crest_db",
                unit="dB",
                meaning="peak over average: squeezed music 6 to 10, open recordings 12 to 20",
                least=3.01,
                most=30,
            ),
            DISTANCE,
        ),
        output=Output(name="level_db", unit="dB", meaning="average level at the ear"),
        others=(
            Output(name="power_w", unit="W", meaning="average power into the speaker"),
            Output(name="limited_by", unit="1", meaning="whose rating holds it back"),
        ),
        equation="P = min(2 x P_amp / 10^(crest / 10), P_speaker); L = S + 10 log10(P) - 20 log10(d)",
        validity=ROUGH + "; RMS ratings only",
        source="definition of the crest factor; IEC 60268-5 20.4, second-hand",
        cautions=LOUD,
    ),
)
