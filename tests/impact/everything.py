"""The slow way to the impact of a release: every question of the space is asked in both, whatever it depends on."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date

from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.impact.told import Told, told_fit
from rules.question import FitQuestion

Key = tuple[str, str, date, str]


def answers(
    catalog: Catalog,
    days: Iterable[date],
    bikes: Iterable[str] | None = None,
    parts: Iterable[str] | None = None,
) -> dict[Key, Told]:
    """Ask about all parts on all bikes, or about some."""
    engine = Engine(catalog)
    names = sorted({*catalog.bikes, *catalog.ambiguous}) if bikes is None else bikes
    asked = [x.id for x in catalog.parts.values() if x.slot is not None] if parts is None else parts
    return {
        (bike, part, day, fitter): told_fit(
            engine.fit(FitQuestion(bike=bike, part=part, on=day, fitter=fitter))
        )
        for bike in names
        for part in asked
        for day in days
        for fitter in ("shop", "home")
    }


def changed(
    old: dict[Key, Told], new: dict[Key, Told], held_against: dict[str, str] | None = None
) -> Iterator[Key]:
    """Give what changed, by the question in the newer release; a new bike is held against the one given for it."""
    against = held_against or {}
    for key in sorted(new, key=str):
        if old.get((against.get(key[0], key[0]), *key[1:])) != new[key]:
            yield key
    yield from (key for key in sorted(old, key=str) if key not in new)
