"""Bikes on which nobody knows anything but a few named facts."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from rules.bench import Bench
from rules.catalog.bike import BikeFacts, BikePlace
from rules.catalog.facts import Unknown
from rules.catalog.part import Channel, Part
from rules.tables import Tables
from rules.verdict import Cause

Known = frozenset[tuple[str, str]]
"""The name of each known fact, and the part, place or bike that it belongs to."""

NOBODY_KNOWS = Unknown(unknown="ask")


def known(causes: Collection[Cause]) -> Known:
    """Give the facts that these causes know."""
    return frozenset((x.fact, x.of) for x in causes if not x.is_missing)


def masked(bench: Bench, kept: Known) -> Bench:
    """Give the same bike on a bench where every fact but the kept ones is unknown."""
    catalog = bench.tables.catalog
    parts = {part.id: _masked_part(part, kept) for part in catalog.parts.values()}
    tables = Tables(replace(catalog, parts=parts))
    tables.facts = {
        part: {
            key: value if (f"part.{key}", part) in kept else NOBODY_KNOWS
            for key, value in bench.tables.facts[part].items()
        }
        for part in parts
    }
    found = replace(bench.found, measured=())
    hidden = Bench(tables, replace(bench.bike, has=_masked_bike(bench.has, kept)), found)
    hidden._bike_facts = {
        key: value
        if kept & {(f"bike.{key}", bench.bike.id), (f"facts.{key}", bench.bike.id)}
        else NOBODY_KNOWS
        for key, value in bench._bike_facts.items()
    }
    return hidden


def _masked_part(part: Part, kept: Known) -> Part:
    return part.model_copy(
        update={"channels": tuple(masked_channel(part.id, x, kept) for x in part.channels)}
    )


def masked_channel(part: str, channel: Channel, kept: Known) -> Channel:
    """Hide a channel's figures."""
    figures = {x for x in ("watts", "min_ohm") if (f"part.channels.{channel.id}.{x}", part) not in kept}
    return channel.model_copy(update=dict.fromkeys(figures, NOBODY_KNOWS))


def _masked_bike(has: BikeFacts, kept: Known) -> BikeFacts:
    places = {name: _masked_place(name, place, kept) for name, place in has.places.items()}
    return has.model_copy(update={"places": places})


def _masked_place(name: str, place: BikePlace, kept: Known) -> BikePlace:
    geometry = {
        key: value if (f"places.{name}.geometry.{key}", name) in kept else NOBODY_KNOWS
        for key, value in place.geometry.items()
    }
    hidden: dict[str, object] = {"geometry": geometry}
    if place.max_mass_kg is not None and (f"places.{name}.max_mass_kg", name) not in kept:
        hidden["max_mass_kg"] = NOBODY_KNOWS
    if (f"places.{name}.carrier_needed", name) not in kept:
        hidden["carrier_needed"] = NOBODY_KNOWS
    return place.model_copy(update=hidden)
