"""In which order to check that all speakers of a build push together, and what one reversed one would cost."""

from __future__ import annotations

from dataclasses import dataclass

from rules.figures.figure import Known, VisitFigure, figure
from rules.figures.presets import ZoneFigures
from rules.figures.ridden import Ridden, stated
from rules.presets.polarity import PolarityStep, ZonePolarity, polarity_plan

LAST = float("inf")
"""Zones of which nobody knows how low they play are compared last."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Polarity:
    """The comparisons in their order; and what one reversed speaker costs, where there are several."""

    steps: tuple[PolarityStep, ...]
    cost: tuple[VisitFigure, ...]


def polarity(ridden: Ridden, zones: tuple[ZoneFigures, ...]) -> Polarity:
    """Plan the comparisons: left against right first, then zones, lowest first."""
    ordered = sorted(zones, key=lambda x: (_lowest(x.filters.known("high_pass_hz")), x.speaker.place))
    steps = polarity_plan(tuple(_zone(ridden, x) for x in ordered))
    sides = len(ridden.visit.feeds)
    if sides < 2:  # noqa: PLR2004 - one speaker alone has nothing to be compared with
        return Polarity(steps=steps, cost=())
    cost = figure(
        ridden.bench.bike.id, "reversed_speaker", {"speakers": stated(sides, "speakers that play together")}
    )
    return Polarity(steps=steps, cost=(cost,))


def _lowest(known: Known) -> float:
    return float(known.value) if isinstance(known.value, int | float) else LAST


def _zone(ridden: Ridden, zone: ZoneFigures) -> ZonePolarity:
    place = ridden.bench.tables.catalog.places[zone.speaker.place]
    sits_in = zone.filters.figures["sits_in"].value if zone.filters.is_verified else ""
    return ZonePolarity(
        name=ridden.zone(zone.speaker.place),
        is_pair=place.pair,
        # Where nobody knows, the warning is given.
        filtered=not zone.filters.is_verified or sits_in != "capacitor",
        bass_blocker=sits_in == "capacitor",
    )
