"""Masses against what a bike, a top case or a fork may carry."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.units import Kilograms


@dataclass(frozen=True, slots=True, kw_only=True)
class MassLeft:
    """What a limit leaves."""

    left_kg: Kilograms
    total_kg: Kilograms
    allowed: bool


def mass_left(limit_kg: Kilograms, parts_kg: tuple[Kilograms, ...]) -> MassLeft:
    """What a place's limit leaves: a top case, a lid, what turns with the fork.

    Args:
        limit_kg: Of the place [kg].
        parts_kg: Of each part in it [kg], and of what the rider packs there.

    Equation: left = limit - sum of parts.
    Source: the limit of the bike's or case's sheet.

    Example:
        >>> mass_left(10.0, (2.5, 1.2)).left_kg
        6.3
    """
    total = math.fsum(parts_kg)
    # Keeps decimals that add up to the limit itself from failing by a rounding.
    return MassLeft(left_kg=limit_kg - total, total_kg=total, allowed=total <= limit_kg + 1e-9)


def payload_left(
    payload_kg: Kilograms,
    rider_kg: Kilograms,
    parts_kg: tuple[Kilograms, ...],
    passenger_kg: Kilograms = 0.0,
    luggage_kg: Kilograms = 0.0,
) -> MassLeft:
    """What a bike's payload leaves with rider, passenger, luggage and everything that was added.

    Args:
        payload_kg: Highest permitted mass less the mass of the bike ready to ride [kg].
        rider_kg, passenger_kg: With their clothing and helmets [kg].
        luggage_kg: What is packed [kg].
        parts_kg: Of each part that was added [kg]; what came off counts below zero.

    Equation: left = payload - rider - passenger - luggage - sum of parts.
    Source: the bike's plate and handbook.

    Example:
        >>> payload_left(190.0, 85.0, (6.5, 3.5), luggage_kg=20.0).left_kg
        75.0
    """
    return mass_left(payload_kg, (rider_kg, passenger_kg, luggage_kg, *parts_kg))


LEFT = Output(name="left_kg", unit="kg", meaning="what the limit leaves; below zero if too heavy")

OTHERS = (
    Output(name="total_kg", unit="kg", meaning="all that counts"),
    Output(name="allowed", unit="1", meaning="whether the limit is kept"),
)


def _mass(name: str, meaning: str, *, default: float | None = None) -> Input:
    return Input(name=name, unit="kg", meaning=meaning, least=0, most=1000, default=default)


CALCULATIONS = (
    Calculation(
        id="mass_left",
        title="What a place's mass limit leaves",
        topic="mechanics",
        function=mass_left,
        inputs=(
            _mass("limit_kg", "limit of the top case, the lid, or what turns with the fork"),
            Input(
                name="parts_kg",
                unit="kg",
                meaning="each part there, and what is packed there",
                kind="numbers",
                least=0,
                most=1000,
            ),
        ),
        output=LEFT,
        others=OTHERS,
        limit="limit_kg",
        equation="left = limit - sum of parts",
        validity="the limit is the bike's or case's own",
        source="the bike's or case's sheet",
        cautions=("estimate", "mass"),
    ),
    Calculation(
        id="payload_left",
        title="What a bike's payload leaves",
        topic="mechanics",
        function=payload_left,
        inputs=(
            _mass("payload_kg", "highest permitted mass less the mass of the bike ready to ride"),
            _mass("rider_kg", "rider with clothing and helmet"),
            Input(
                name="parts_kg",
                unit="kg",
                meaning="each part that was added; what came off counts below zero",
                kind="numbers",
                least=-1000,
                most=1000,
            ),
            _mass("passenger_kg", "passenger with clothing and helmet", default=0.0),
            _mass("luggage_kg", "what is packed", default=0.0),
        ),
        output=LEFT,
        others=OTHERS,
        limit="payload_kg",
        equation="left = payload - rider - passenger - luggage - sum of parts",
        validity="axle loads are not judged; pack low and to the front",
        source="the bike's plate and handbook",
        cautions=("estimate", "mass"),
    ),
)
