"""The fuse in an amplifier's power lead: its rating, its colour and its place."""

from __future__ import annotations

from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.units import Amps, Millimetres

RATINGS = (
    1.0,
    2.0,
    3.0,
    4.0,
    5.0,
    7.5,
    10.0,
    15.0,
    20.0,
    25.0,
    30.0,
    35.0,
    40.0,
    50.0,
    60.0,
    70.0,
    80.0,
    100.0,
)
"""Ratings of blade fuses for road vehicles [A], up to the largest of ISO 8820-3:2015; the list is from memory."""

CARRIES = 0.8
"""What a fuse carries continuously, of its rating (common practice: the 125 % rule)."""

COLOURS = {
    1.0: "black",
    2.0: "grey",
    3.0: "violet",
    4.0: "pink",
    5.0: "tan",
    7.5: "brown",
    10.0: "red",
    15.0: "blue",
    20.0: "yellow",
    25.0: "clear",
    30.0: "green",
    40.0: "amber",
}
"""Rating [A] to the body of a type C blade fuse. SAE J1284 / ISO 8820-3, recalled, not read.

Of 35 A sources differ, and larger blades use some colours again for other ratings: those have no entry.
"""

INCH = 25.4

BARE_INCHES, SHEATHED_INCHES = 7, 40
"""Furthest from the battery. 33 CFR 183.455(b), second-hand: a rule for boats, guidance on a motorcycle."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FuseChoice:
    """The fuse for a power lead.

    Attributes:
        rating_a: What to fit. None if the maker's value is no fuse for this cable.
        most_a: Largest rating that the cable allows. None if it allows none.
        least_a: Smallest rating that carries the draw. None above the largest rating.
        carries_a: What the fuse to fit carries continuously.
        trouble: "none"; or why there is none to fit: "cable_too_thin", "no_standard_rating" (of a sum: fuse each
            amplifier by itself); or "draws_more_than_it_carries", which the maker should be asked about.
    """

    rating_a: Amps | None
    most_a: Amps | None
    least_a: Amps | None
    carries_a: Amps | None
    colour: str | None
    trouble: str


def largest_rating(ampacity_a: Amps) -> Amps | None:
    """Largest standard rating that a cable allows [A]: at most what it carries where it runs."""
    return max((x for x in RATINGS if x <= ampacity_a), default=None)


def smallest_rating(current_a: Amps) -> Amps | None:
    """Smallest standard rating that carries a steady current [A] without ageing: current <= 0.8 x rating."""
    # Slack of a billionth: 12 A needs exactly 15 A.
    return next((x for x in RATINGS if current_a <= CARRIES * x * (1 + 1e-9)), None)


def choose_fuse(maker_fuse_a: Amps, ampacity_a: Amps, current_a: Amps = 0.0) -> FuseChoice:
    """Fuse for a power lead: the amplifier maker's value, and at most what the cable carries where it runs.

    Args:
        maker_fuse_a: What the amplifier's maker asks for, of all amplifiers on the lead [A].
        ampacity_a: What the cable carries where it runs [A].
        current_a: Steady draw, if known [A]: a maker's value that cannot carry it is told.

    Returns: Never a fuse above the cable's ampacity, and never another than the maker's: where both cannot be had,
        none, and a thicker cable is the cure.

    Equation: rating = maker's value <= derated ampacity; least: current / 0.8.
    Source: common practice; ratings of ISO 8820-3, recalled, not read. The boats' ceiling of one and a half times the
        ampacity is never used.

    Example:
        >>> choose_fuse(40.0, 45.0).rating_a, choose_fuse(40.0, 38.3).rating_a
        (40.0, None)
    """
    rating, trouble = _rating(maker_fuse_a, ampacity_a, current_a)
    return FuseChoice(
        rating_a=rating,
        most_a=largest_rating(ampacity_a),
        least_a=smallest_rating(current_a),
        carries_a=None if rating is None else CARRIES * rating,
        colour=None if rating is None else COLOURS.get(rating),
        trouble=trouble,
    )


def _rating(maker_fuse_a: Amps, ampacity_a: Amps, current_a: Amps) -> tuple[Amps | None, str]:
    if maker_fuse_a > ampacity_a:
        return None, "cable_too_thin"
    if maker_fuse_a not in RATINGS:
        return None, "no_standard_rating"
    carries = CARRIES * maker_fuse_a * (1 + 1e-9)
    return maker_fuse_a, "none" if current_a <= carries else "draws_more_than_it_carries"


def fuse_distance(lead: str) -> Millimetres:
    """Longest lead between the battery and its fuse [mm].

    Args:
        lead: "bare", or "sheathed" where the whole of it runs in a sheath or an enclosure.

    Equation: 7 in, or 40 in, x 25.4 mm.
    Source: 33 CFR 183.455(b), second-hand: a rule for boats, guidance on a motorcycle.

    Example:
        >>> fuse_distance("sheathed")
        1016.0
    """
    return (BARE_INCHES if lead == "bare" else SHEATHED_INCHES) * INCH


CALCULATIONS = (
    Calculation(
        id="fuse_choice",
        title="Fuse for a power lead",
        topic="protection",
        function=choose_fuse,
        inputs=(
            Input(
                name="maker_fuse_a",
                unit="A",
                meaning="what the amplifier's maker asks for; of several on one lead, the sum",
                least=0.5,
                most=500,
            ),
            Input(
                name="ampacity_a",
                unit="A",
                meaning="what the cable carries where it runs",
                least=0,
                most=1000,
            ),
            Input(
                name="current_a",
                unit="A",
                meaning="steady draw at full output; 0 if it is not known",
                least=0,
                most=500,
                default=0.0,
            ),
        ),
        output=Output(
            name="rating_a", unit="A", meaning="rating to fit", none="no fuse suits both amplifier and cable"
        ),
        others=(
            Output(
                name="most_a",
                unit="A",
                meaning="largest standard rating that the cable allows",
                none="the cable allows no standard rating",
            ),
            Output(
                name="least_a",
                unit="A",
                meaning="smallest standard rating that carries the draw",
                none="no standard rating carries the draw",
            ),
            Output(
                name="carries_a",
                unit="A",
                meaning="what the fuse to fit carries continuously",
                none="there is no fuse to fit",
            ),
            Output(
                name="colour",
                unit="1",
                meaning="body of a blade fuse of that rating",
                none="no colour is its own; read the print",
            ),
            Output(name="trouble", unit="1", meaning="why there is none to fit, or what to look at"),
        ),
        limit="most_a",
        equation="rating = maker's value, at most the derated ampacity; least = current / 0.8",
        validity="one fuse at the battery in the positive lead; ratings up to 100 A",
        source="common practice; ratings and colours of ISO 8820-3, recalled, not read",
        cautions=("estimate", "fuse", "wiring", "battery"),
    ),
    Calculation(
        id="fuse_distance",
        title="Longest lead between the battery and its fuse",
        topic="protection",
        function=fuse_distance,
        inputs=(
            Input(
                name="lead",
                unit="1",
                meaning="whether the whole of it runs in a sheath or an enclosure",
                kind="word",
                choices=("bare", "sheathed"),
                default="bare",
            ),
        ),
        output=Output(name="distance_mm", unit="mm", meaning="longest lead before the fuse"),
        equation="7 in or 40 in x 25.4 mm",
        validity="guidance from boats; shorter is better",
        source="33 CFR 183.455(b), second-hand",
        cautions=("estimate", "fuse", "wiring", "battery"),
    ),
)
