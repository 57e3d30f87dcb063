"""What contacts and battery posts bear."""

from __future__ import annotations

from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.units import Amps

SHARED = 0.8
"""What a contact carries of its rating where several share, as they never share alike (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ContactLoad:
    """What each contact of one connector carries, against what it may."""

    each_a: Amps
    most_a: Amps
    allowed: bool


def contact_load(current_a: Amps, contact_rating_a: Amps, contacts: int = 1) -> ContactLoad:
    """What contacts that share a current carry.

    Args:
        current_a: Through all of them [A].
        contact_rating_a: Of one contact at the heat where it sits, as its maker says [A].
        contacts: How many share, 1 or more.

    Equation: each carries current / contacts; each may carry its rating, x 0.8 where several share.
    Source: the connector's sheet; 0.8 is common practice, no source.

    Example:
        >>> contact_load(24.0, 15.0, 2).most_a
        12.0
    """
    each = current_a / contacts
    most = contact_rating_a * (SHARED if contacts > 1 else 1.0)
    return ContactLoad(each_a=each, most_a=most, allowed=each <= most)


@dataclass(frozen=True, slots=True, kw_only=True)
class PostLoad:
    """What a battery post holds."""

    left: int
    allowed: bool
    most: int


def post_lugs(lugs: int, most: int) -> PostLoad:
    """Whether a battery post or stud takes so many lugs.

    Args:
        lugs: On the post, those that were there among them.
        most: What its maker allows.

    Equation: left = most - lugs.
    Source: the battery's or bike's sheet.

    Example:
        >>> post_lugs(3, 2).allowed
        False
    """
    return PostLoad(left=most - lugs, allowed=lugs <= most, most=most)


CALCULATIONS = (
    Calculation(
        id="contact_load",
        title="What contacts of a connector carry",
        topic="connectors",
        function=contact_load,
        inputs=(
            Input(name="current_a", unit="A", meaning="current through all of them", least=0, most=500),
            Input(
                name="contact_rating_a",
                unit="A",
                meaning="of one contact, as its maker says",
                least=0.1,
                most=500,
            ),
            Input(
                name="contacts",
                unit="1",
                meaning="how many share it",
                kind="whole",
                least=1,
                most=40,
                default=1,
            ),
        ),
        output=Output(name="each_a", unit="A", meaning="current of each contact"),
        others=(
            Output(name="most_a", unit="A", meaning="most current of each contact"),
            Output(name="allowed", unit="1", meaning="whether they may carry it"),
        ),
        limit="most_a",
        equation="each = current / contacts; most = rating, x 0.8 where several share",
        validity="crimped contacts of the right size, clean; at the heat that the rating is for",
        source="the connector's sheet; 0.8 is common practice, no source",
        cautions=("estimate", "wiring"),
    ),
    Calculation(
        id="post_lugs",
        title="Lugs on a battery post",
        topic="connectors",
        function=post_lugs,
        inputs=(
            Input(
                name="lugs",
                unit="1",
                meaning="on the post, those that were there among them",
                kind="whole",
                least=0,
                most=20,
            ),
            Input(name="most", unit="1", meaning="what its maker allows", kind="whole", least=0, most=20),
        ),
        output=Output(name="left", unit="1", meaning="how many more it takes; below zero if too many"),
        others=(
            Output(name="allowed", unit="1", meaning="whether it takes them"),
            Output(name="most", unit="1", meaning="what its maker allows"),
        ),
        limit="most",
        equation="left = most - lugs",
        validity="lugs for the stud's thread, tightened to the battery's torque",
        source="the battery's or bike's sheet",
        cautions=("estimate", "wiring", "battery"),
    ),
)
