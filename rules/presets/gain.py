"""The voltage that a channel's gain is set to."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

AMPLIFIER, SPEAKERS, HEAD_UNIT = "amplifier", "speakers", "head_unit"

NEAR = 0.02
"""How far the speakers may miss the impedance that was named [1]: sheets round 2.67 ohm to 2.7."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GainVoltage:
    """Target of a channel, at full scale and at the volume reference.

    Attributes:
        volts: RMS [V], the lowest of the three that follow.
        limited_by: amplifier, speakers or head_unit.
        watts: What that voltage puts into the connected load [W].
        amplifier_v: What the amplifier can give into the connected load [V].
        speakers_v: What the weakest of the speakers bears [V]; None if no speakers were named.
        head_unit_v: What the head unit's unclipped output reaches [V]; None if it was not named.
    """

    volts: float
    limited_by: str
    watts: float
    amplifier_v: float
    speakers_v: float | None
    head_unit_v: float | None


def gain(
    power: float,
    impedance: float,
    speaker_powers: tuple[float, ...] = (),
    speaker_impedances: tuple[float, ...] = (),
    source: float | None = None,
    most_gain: float | None = None,
) -> GainVoltage:
    """Target voltage of a channel: the lowest that amplifier, speakers and head unit allow.

    Args:
        power: Continuous power of the channel into the connected load [W], from its rated table.
        impedance: Connected load [ohm].
        speaker_powers: Continuous rating of each speaker on the channel [W], all in parallel.
        speaker_impedances: Rated, one for each of these [ohm].
        source: Unclipped output of the head unit at the volume reference [V RMS], at full scale.
        most_gain: Largest voltage gain from there to the channel's output [1]; 1 where the head unit itself
            drives the speakers.

    Raises: MalformedQuestion if there is not one impedance for each speaker; if the speakers in parallel are not the
        connected load; or if only one of `source` and `most_gain` is given.

    Equation: U = min(sqrt(P Z), min_i sqrt(P_i Z_i), U_source x G).
    Validity: a sine of the target voltage, speakers in parallel, rated impedances. Peak figures are no ratings. Music
        holds far less than a full-scale sine on average, so a clipping rest is still heard: turn down, not up.
    Source: U = sqrt(R P), the form of IEC 60268-5 20.3.2 (second-hand); the lowest of the three is common practice
        without a source.

    Example:
        >>> gain(100, 4).volts
        20.0
        >>> found = gain(95, 2, (45, 60), (4, 4))
        >>> round(found.volts, 2), found.limited_by
        (13.42, 'speakers')
    """
    limits = {
        AMPLIFIER: math.sqrt(power * impedance),
        SPEAKERS: _speakers_bear(speaker_powers, speaker_impedances, impedance),
        HEAD_UNIT: _head_unit_reaches(source, most_gain),
    }
    volts, limited_by = min((volts, name) for name, volts in limits.items() if volts is not None)
    return GainVoltage(
        volts=volts,
        limited_by=limited_by,
        watts=volts**2 / impedance,
        amplifier_v=math.sqrt(power * impedance),
        speakers_v=limits[SPEAKERS],
        head_unit_v=limits[HEAD_UNIT],
    )


def _speakers_bear(powers: tuple[float, ...], impedances: tuple[float, ...], load: float) -> float | None:
    if len(powers) != len(impedances):
        raise MalformedQuestion(
            "speaker_impedances",
            "there is not one impedance for each speaker",
            "give as many speaker_impedances as speaker_powers",
        )
    if not powers:
        return None
    together = 1 / math.fsum(1 / ohm for ohm in impedances)
    if abs(together - load) > NEAR * load:
        raise MalformedQuestion(
            "impedance",
            "the speakers in parallel do not come to the connected load",
            "give the parallel impedance of the speakers, or leave the speakers out",
        )
    return min(math.sqrt(watts * ohm) for watts, ohm in zip(powers, impedances, strict=True))


def _head_unit_reaches(source: float | None, most_gain: float | None) -> float | None:
    if source is None and most_gain is None:
        return None
    if source is None or most_gain is None:
        missing = "source" if source is None else "most_gain"
        raise MalformedQuestion(
            missing, f"{missing} is missing", "give both source and most_gain, or neither"
        )
    return source * most_gain


CALCULATIONS = (
    Calculation(
        id="gain",
        title="Voltage that a channel's gain is set to",
        topic="presets",
        function=gain,
        inputs=(
            Input(
                name="power",
                unit="W",
                meaning="continuous power into the connected load",
                least=0.1,
                most=1e4,
            ),
            Input(name="impedance", unit="ohm", meaning="connected load", least=0.25, most=64),
            Input(
                name="speaker_powers",
                unit="W",
                meaning="continuous rating of each speaker, all in parallel",
                kind="numbers",
                least=0.1,
                most=1e4,
                default=(),
            ),
            Input(
                name="speaker_impedances",
                unit="ohm",
                meaning="rated impedance of each speaker",
                kind="numbers",
                least=0.25,
                most=64,
                default=(),
            ),
            Input(
                name="source",
                unit="V",
                meaning="unclipped output of the head unit at the volume reference, full scale",
                least=0.01,
                most=100,
                optional=True,
            ),
            Input(
                name="most_gain",
                unit="1",
                meaning="largest voltage gain from there to the channel's output; 1: it drives the speakers itself",
                least=0.1,
                most=1000,
                optional=True,
            ),
        ),
        output=Output(name="volts", unit="V", meaning="target RMS voltage at full scale"),
        others=(
            Output(name="limited_by", unit="1", meaning="which of the three is the lowest"),
            Output(name="watts", unit="W", meaning="what it puts into the connected load"),
            Output(name="amplifier_v", unit="V", meaning="what the amplifier can give"),
            Output(
                name="speakers_v",
                unit="V",
                meaning="what the weakest speaker bears",
                none="no speakers were named: check their rating against watts",
            ),
            Output(
                name="head_unit_v",
                unit="V",
                meaning="what the head unit reaches unclipped",
                none="the head unit was not named: look for clipping with a scope",
            ),
        ),
        equation="U = min(sqrt(P Z), min_i sqrt(P_i Z_i), U_source x G)",
        validity="a sine, speakers in parallel, rated impedances; continuous ratings only",
        source="U = sqrt(R P), the form of IEC 60268-5 20.3.2, second-hand; the lowest is common practice",
        cautions=("estimate", "tone", "hearing", "wiring", "controls"),
    ),
)
