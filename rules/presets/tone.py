"""The test tone with which a gain is set: which, how strong, how long, and what reads it."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.acoustics.signal_level import full_scale_amplitude
from rules.acoustics.weighting import NOMINAL_HZ
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

WELL_INSIDE = 2.0
"""Octaves from a filter's corner at which it takes less than 0.04 dB, up to a Linkwitz-Riley of fourth order."""

DISCONNECTED, CONNECTED = "disconnected", "connected"

SECONDS = {DISCONNECTED: (30.0, 0.0), CONNECTED: (2.0, 60.0)}
"""How long the tone sounds at a time, and the pause after it [s]. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """A test tone and what to read.

    Attributes:
        frequency_hz: A named third octave inside the passband [Hz].
        reading_v: What the meter shows when the gain is right [V RMS].
        level_dbfs: Level that the tone is recorded at [dBFS].
        inside_octaves: Distance from the nearer corner [octaves].
        seconds: Longest burst [s].
        pause_s: Least pause after it [s].
        instrument: What reads it: meter, a true-RMS one; or scope where the tone is above what the meter is true to.
    """

    frequency_hz: float
    reading_v: float
    level_dbfs: float
    inside_octaves: float
    seconds: float
    pause_s: float
    instrument: str


def gain_tone(
    target_v: float,
    high_pass_hz: float,
    low_pass_hz: float,
    level_dbfs: float,
    speakers: str,
    meter_hz: float,
) -> Tone:
    """Choose the test tone for a channel.

    Args:
        target_v: Target of the channel at full scale [V RMS], from `gain`.
        high_pass_hz: Lower end of what the channel plays [Hz].
        low_pass_hz: Upper end [Hz].
        level_dbfs: Level of the recording [dBFS], zero or less. Coded music players can clip a tone at 0.
        speakers: disconnected; or connected, which only short bursts allow.
        meter_hz: Highest frequency that the meter is true to [Hz]; many hand meters: 400 (common practice, no source).

    Raises: MalformedQuestion if no named third octave lies between the two ends.

    Equation: the named third octave that lies well inside the passband, that the meter reads, and that is nearest to the
        middle, in this order; reading = U x 10^(level / 20).
    Validity: bass boost, tone controls and fader at zero, volume at its reference. With the speakers off an amplifier
        gives a little more than under load.
    Source: common practice, no source; IEC 61260-1 and ISO 266 for the frequencies.

    Example:
        >>> found = gain_tone(20, 80, 20000, -5, "disconnected", 400)
        >>> found.frequency_hz, round(found.reading_v, 2), found.instrument
        (400.0, 11.25, 'meter')
    """
    between = [x for x in NOMINAL_HZ if high_pass_hz < x < low_pass_hz]
    if not between:
        raise MalformedQuestion(
            "low_pass_hz",
            "no test tone lies between the two filters",
            "check the filters: they leave no passband",
        )
    middle = math.sqrt(high_pass_hz * low_pass_hz)

    def inside(hz: float) -> float:
        return math.log2(min(hz / high_pass_hz, low_pass_hz / hz))

    frequency = max(
        between, key=lambda hz: (min(inside(hz), WELL_INSIDE), hz <= meter_hz, -abs(math.log(hz / middle)))
    )
    seconds, pause = SECONDS[speakers]
    return Tone(
        frequency_hz=frequency,
        reading_v=target_v * full_scale_amplitude(level_dbfs),
        level_dbfs=level_dbfs,
        inside_octaves=inside(frequency),
        seconds=seconds,
        pause_s=pause,
        instrument="meter" if frequency <= meter_hz else "scope",
    )


CALCULATIONS = (
    Calculation(
        id="gain_tone",
        title="Test tone with which a gain is set",
        topic="presets",
        function=gain_tone,
        inputs=(
            Input(
                name="target_v", unit="V", meaning="target of the channel at full scale", least=0.1, most=500
            ),
            Input(
                name="high_pass_hz", unit="Hz", meaning="lower end of what it plays", least=10, most=10_000
            ),
            Input(
                name="low_pass_hz",
                unit="Hz",
                meaning="upper end of what it plays",
                least=20,
                most=20_000,
                default=20_000,
            ),
            Input(
                name="level_dbfs",
                unit="dBFS",
                meaning="level that the tone is recorded at",
                least=-40,
                most=0,
                default=-5,
            ),
            Input(
                name="speakers",
                unit="1",
                meaning="whether they are on the channel meanwhile",
                kind="word",
                choices=(DISCONNECTED, CONNECTED),
                default=DISCONNECTED,
            ),
            Input(
                name="meter_hz",
                unit="Hz",
                meaning="highest frequency that the meter is true to",
                least=50,
                most=100_000,
                default=400,
            ),
        ),
        output=Output(name="reading_v", unit="V", meaning="RMS voltage that the meter shows"),
        others=(
            Output(name="frequency_hz", unit="Hz", meaning="frequency of the tone"),
            Output(name="level_dbfs", unit="dBFS", meaning="level that it is recorded at"),
            Output(name="inside_octaves", unit="octave", meaning="distance from the nearer filter"),
            Output(name="seconds", unit="s", meaning="longest burst"),
            Output(name="pause_s", unit="s", meaning="least pause after it"),
            Output(name="instrument", unit="1", meaning="true-RMS meter, or scope"),
        ),
        equation="reading = U x 10^(level / 20)",
        validity="tone controls and fader at zero, volume at its reference",
        source="common practice, no source; frequencies of ISO 266",
        cautions=("estimate", "tone", "hearing", "wiring"),
    ),
)
