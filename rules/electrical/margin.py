"""Power against a speaker's rating: the margin, and the voltage to which a preset must hold the channel."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.impedance import IMPEDANCES, parallel
from rules.errors import MalformedQuestion
from rules.units import Ohms, Ratio, Volts, Watts

FIGURES = ("rms", "peak")
"""Continuous power, or a figure called peak, maximum or music power: those follow no common test."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Margin:
    """What a rating leaves above a power. None of either unless both figures are continuous."""

    margin_w: Watts | None
    ratio: Ratio | None


def rms_margin(power_w: Watts, rating_w: Watts, power_is: str = "rms", rating_is: str = "rms") -> Margin:
    """What a speaker's rating leaves above the power that it gets.

    Args:
        power_w: What the speaker gets [W], above zero.
        rating_w: What it is rated for [W].
        power_is, rating_is: "rms" for continuous power; "peak" for anything else.

    Returns: rating - power [W], below zero if the speaker gets too much, and rating / power. None unless both are
        continuous: a peak figure follows no common test, so it gives no margin.

    Source: ratings compared like with like, as in IEC 60268-5 and ANSI/CTA-2006-D, second-hand.

    Example:
        >>> rms_margin(45.0, 60.0).margin_w
        15.0
        >>> rms_margin(45.0, 240.0, rating_is="peak").margin_w is None
        True
    """
    if (power_is, rating_is) != ("rms", "rms"):
        return Margin(margin_w=None, ratio=None)
    return Margin(margin_w=rating_w - power_w, ratio=rating_w / power_w)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """How high a preset may let a channel go.

    Attributes:
        needed: Whether the channel alone could give some speaker more than it is rated for.
        cap_v: Highest RMS voltage that no speaker minds.
        powers_w: What each speaker then gets.
    """

    needed: bool
    cap_v: Volts
    channel_v: Volts
    powers_w: tuple[Watts, ...]


def cap_voltage(power_w: Watts, impedances_ohm: tuple[Ohms, ...], ratings_w: tuple[Watts, ...]) -> Cap:
    """Voltage to which a preset holds a channel whose power is above some speaker's rating.

    Args:
        power_w: Continuous power of the channel into all of them [W].
        impedances_ohm: Of the speakers, in parallel [ohm].
        ratings_w: Continuous rating of each, in the same order [W].

    Raises: MalformedQuestion if there is not one rating for each speaker.

    Equation: U = min(sqrt(P x Z), min over speakers of sqrt(P_i x Z_i)).
    Source: Ohm's law; the form U = sqrt(R x P) of IEC 60268-5 20.3.2, second-hand.

    Example:
        >>> cap_voltage(100.0, (4.0,), (64.0,)).cap_v
        16.0
    """
    if len(impedances_ohm) != len(ratings_w):
        raise MalformedQuestion(
            "ratings_w", "ratings_w is not as long as impedances_ohm", "give one rating for each speaker"
        )
    channel = math.sqrt(power_w * parallel(impedances_ohm))
    pairs = zip(ratings_w, impedances_ohm, strict=True)
    borne = min(math.sqrt(rating * z) for rating, z in pairs)
    # A billionth of slack: a channel that gives exactly the rating needs no cap.
    needed = channel > borne * (1 + 1e-9)
    cap = borne if needed else channel
    return Cap(
        needed=needed,
        cap_v=cap,
        channel_v=channel,
        powers_w=tuple(cap**2 / z for z in impedances_ohm),
    )


def _kind(name: str, of: str) -> Input:
    return Input(
        name=name,
        unit="1",
        meaning=f"whether {of} is continuous",
        kind="word",
        choices=FIGURES,
        default="rms",
    )


NO_MARGIN = "a peak figure follows no common test, so it gives no margin: ask for the continuous one"

CALCULATIONS = (
    Calculation(
        id="rms_margin",
        title="What a speaker's rating leaves",
        topic="loads",
        function=rms_margin,
        inputs=(
            Input(name="power_w", unit="W", meaning="what the speaker gets", least=0.001, most=10_000),
            Input(name="rating_w", unit="W", meaning="what it is rated for", least=0, most=10_000),
            _kind("power_is", "the power"),
            _kind("rating_is", "the rating"),
        ),
        output=Output(
            name="margin_w", unit="W", meaning="rating less power; below zero if too much", none=NO_MARGIN
        ),
        others=(Output(name="ratio", unit="1", meaning="rating over power", none=NO_MARGIN),),
        equation="margin = rating - power, both continuous",
        validity="continuous with continuous only",
        source="like with like, as in IEC 60268-5 and ANSI/CTA-2006-D, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="cap_voltage",
        title="Voltage to which a preset holds a channel",
        topic="loads",
        function=cap_voltage,
        inputs=(
            Input(
                name="power_w",
                unit="W",
                meaning="continuous power of the channel into all of them",
                least=0,
                most=10_000,
            ),
            IMPEDANCES,
            Input(
                name="ratings_w",
                unit="W",
                meaning="continuous rating of each speaker, in the same order",
                kind="numbers",
                least=0,
                most=10_000,
            ),
        ),
        output=Output(name="cap_v", unit="V", meaning="highest RMS voltage that no speaker minds"),
        others=(
            Output(name="needed", unit="1", meaning="whether the channel alone could overdrive one of them"),
            Output(name="channel_v", unit="V", meaning="RMS voltage of the channel at its power"),
            Output(name="powers_w", unit="W", meaning="what each speaker then gets"),
        ),
        limit="channel_v",
        equation="U = min(sqrt(P x Z), sqrt(P_i x Z_i) of each speaker)",
        validity="speakers in parallel, nominal impedances, a sine inside their passband",
        source="Ohm's law; the form U = sqrt(R x P) of IEC 60268-5 20.3.2, second-hand",
        cautions=("estimate", "tone"),
    ),
)
