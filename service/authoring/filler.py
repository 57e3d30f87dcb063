"""What stands in a template where nobody knows anything yet: marks to replace, and unknowns with a way to find out."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from pydantic import BaseModel

from rules.catalog.catalog import Catalog
from rules.catalog.entry import Entry
from rules.catalog.facts import Unknown, has_unit
from rules.catalog.rule import Provides
from rules.marks import MARK
from service.authoring.emit import Value

SAYS = f"{MARK}: one sentence that a shopper understands."


def source(on: date, kind: str = "measured") -> dict[str, Value]:
    """Give a source to fill in."""
    asked = "which bike, which sheet" if kind == "measured" else "which sheet of the maker, which page"
    return {"kind": kind, "ref": f"{MARK}: {asked}", "date": on}


def unknown(catalog: Catalog, path: str, whose: str) -> dict[str, Value]:
    """Give an unknown, with the words that the catalog already has for finding out this fact.

    Args:
        path: The fact, as bikes name it (`places.lids.geometry.swing_mm`) or parts (`spec.depth_mm`).
        whose: What it is a fact of, for a fact that the catalog has no words for.
    """
    known = next(_ways(catalog, path), None)
    find_out = "measure" if has_unit(path.rpartition(".")[2]) else "find out"
    return {"unknown": known or f"{find_out} {_in_words(path)} of {whose}, or read it in the maker's sheet"}


def _in_words(path: str) -> str:
    """Give a fact as a person says it.

    Example:
        >>> _in_words("places.lids.geometry.swing_mm"), _in_words("facts.alternator_a")
        ('swing [mm] at the lids', 'alternator [a]')
    """
    *before, name = path.split(".")
    words, _, unit = name.rpartition("_") if has_unit(name) else (name, "", "")
    where = f" at the {before[1].replace('_', ' ')}" if before and before[0] == "places" else ""
    return words.replace("_", " ") + (f" [{unit}]" if unit else "") + where


def as_written(entry: Entry) -> dict[str, Value]:
    """Give an entry as it would be written: by its keys, without what is left to a default."""
    plain: dict[str, Value] = entry.model_dump(mode="python", by_alias=True, exclude_defaults=True)
    return {key: _plain(value) for key, value in plain.items()}


def _plain(value: Value) -> Value:
    match value:
        case BaseModel():
            return as_written(value) if isinstance(value, Entry) else value
        case dict():
            return {str(key): _plain(member) for key, member in value.items()}
        case tuple() | list():
            return [_plain(member) for member in value]
        case float() if value.is_integer():
            return int(value)
        case _:
            return value


def _ways(catalog: Catalog, path: str) -> Iterator[str]:
    scope, *_, name = path.split(".")
    for bike in catalog.bikes.values():
        if scope == "places" and (place := bike.has.places.get(path.split(".")[1])):
            yield from _way(place.geometry.get(name))
        yield from _way(bike.has.facts.get(name) if scope == "facts" else None)
    for part in catalog.parts.values():
        yield from _way(part.spec.get(name) if scope == "spec" else None)
    for rule in catalog.rules.values():
        if scope == "facts" and isinstance(rule, Provides) and name in rule.facts:
            yield rule.look


def _way(value: object) -> Iterator[str]:
    if isinstance(value, Unknown):
        yield value.unknown
