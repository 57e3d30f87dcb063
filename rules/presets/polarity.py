"""In which order to check that all speakers push at the same time, and what one reversed speaker costs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class ZonePolarity:
    """A zone, as its polarity is checked.

    Attributes:
        name: As shown: fronts, rears, lowers, lids.
        is_pair: Whether it has a left and a right side.
        filtered: Whether a filter acts on it, in whatever device.
        bass_blocker: Whether a capacitor is in its leads.
    """

    name: str
    is_pair: bool = True
    filtered: bool = False
    bass_blocker: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class PolarityStep:
    """One comparison.

    Attributes:
        compare: What is compared.
        how: What to do.
        right: What is heard or seen if it is right.
        cure: What to do if it is not.
    """

    compare: str
    how: str
    right: str
    cure: str


SAME_WAY = "the middle sounds fuller, and the low notes stronger, than with one of the two turned round"

FOOLED = (
    "A filter turns the phase and a capacitor lets no direct current through: a polarity tester and a battery can both"
    " show the wrong sign there. Set the filters to full range while testing, and test at the speaker, behind the capacitor."
)


def polarity_plan(zones: tuple[ZonePolarity, ...]) -> tuple[PolarityStep, ...]:
    """Order of comparisons: left against right in each zone first, then each zone against the one before.

    Args:
        zones: In the order of how low they play, lowest first.

    Validity: by ear from the saddle, engine off. A zone against a zone is rough: at other frequencies the distances to
        the ear turn the phase again.
    Source: common practice, no source.

    Example:
        >>> [x.compare for x in polarity_plan((ZonePolarity(name="fronts"), ZonePolarity(name="lids")))]
        ['fronts, left against right', 'lids, left against right', 'fronts against lids']
    """
    sides = tuple(_sides(zone) for zone in zones if zone.is_pair)
    return (*sides, *(_zones(lower, upper) for lower, upper in pairwise(zones)))


def _sides(zone: ZonePolarity) -> PolarityStep:
    return PolarityStep(
        compare=f"{zone.name}, left against right",
        how=_how(f"Play the same one-sided music on {zone.name} alone, balance in the middle.", (zone,)),
        right=SAME_WAY,
        cure="turn the two leads round at one side's speaker, and write down which",
    )


def _zones(lower: ZonePolarity, upper: ZonePolarity) -> PolarityStep:
    return PolarityStep(
        compare=f"{lower.name} against {upper.name}",
        how=_how(
            f"Play {lower.name} and {upper.name} together, fader in the middle, at the volume of normal riding.",
            (lower, upper),
        ),
        right=SAME_WAY,
        cure=f"turn both sides of {upper.name} round together, never one of them",
    )


def _how(how: str, zones: tuple[ZonePolarity, ...]) -> str:
    return f"{how} {FOOLED}" if any(x.filtered or x.bass_blocker for x in zones) else how


def reversed_cost(speakers: int, reversed_speakers: int, mismatch_db: float) -> float:
    """What reversed speakers cost in the low notes.

    Args:
        speakers: All that play the same low notes, equally strong.
        reversed_speakers: How many of them are the wrong way round.
        mismatch_db: How much weaker the reversed ones arrive [dB], above zero: no two are exactly alike.

    Returns: [dB], against all the right way round; negative.

    Raises: MalformedQuestion if more are reversed than there are.

    Equation: 20 log10(|n - k - k m| / (n - k + k m)), m = 10^(-mismatch / 20).
    Validity: low notes, whose waves are longer than the bike; further up it varies from place to place. The best and
        the worst place differ by several decibels.
    Source: sum of phasors; any acoustics handbook.

    Example:
        >>> round(reversed_cost(2, 1, 1)), round(reversed_cost(4, 1, 1))
        (-25, -5)
    """
    if reversed_speakers > speakers:
        raise MalformedQuestion(
            "reversed_speakers",
            "more speakers are reversed than there are",
            "give at most the number of speakers",
        )
    right, wrong = speakers - reversed_speakers, reversed_speakers * 10 ** (-mismatch_db / 20)
    return 20 * math.log10(max(abs(right - wrong) / (right + wrong), 1e-6))


CALCULATIONS = (
    Calculation(
        id="reversed_speaker",
        title="What reversed speakers cost in the low notes",
        topic="presets",
        function=reversed_cost,
        inputs=(
            Input(
                name="speakers",
                unit="1",
                meaning="how many play the same notes",
                kind="whole",
                least=2,
                most=32,
            ),
            Input(
                name="reversed_speakers",
                unit="1",
                meaning="how many of them are the wrong way round",
                kind="whole",
                least=0,
                most=32,
                default=1,
            ),
            Input(
                name="mismatch_db",
                unit="dB",
                meaning="how much weaker these arrive",
                least=0.1,
                most=40,
                default=1,
            ),
        ),
        output=Output(name="loss_db", unit="dB", meaning="against all the right way round"),
        equation="20 log10(|n - k - k m| / (n - k + k m)), m = 10^(-mismatch / 20)",
        validity="low notes, whose waves are longer than the bike",
        source="sum of phasors; any acoustics handbook",
        cautions=("estimate", "wiring", "hearing"),
    ),
)
