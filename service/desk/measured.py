"""Facts that somebody measured on a rider's own bike: which there are, how they are read, and how they are told."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from itertools import zip_longest

from rules.build import AsFound
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.facts import Unknown, Value
from rules.errors import MalformedQuestion
from rules.explain import fact_name, place_name
from rules.question import PathQuestion
from service.desk import words
from service.desk.asked import Fields, day_of

ROWS = 3
"""Facts that the form has room for; the API takes more."""

OF_NO_MODEL: Mapping[str, Unknown] = {"battery_age_years": Unknown(unknown="look at the date on it")}
"""Facts that no model has, only a rider's own bike."""

OTHERWISE = "?"
"""What is written for a fact that does not hold on this bike, though nobody has measured what does."""

WORDS = {"yes": True, "no": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurable:
    """One fact of a bike, with what is on record."""

    path: str
    name: str
    recorded: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurableAt:
    """The facts of one place, or of the bike as a whole."""

    name: str
    facts: tuple[Measurable, ...]


def measurable(bike: Bike, catalog: Catalog) -> tuple[MeasurableAt, ...]:
    """List what can be measured on a bike, the bike as a whole first; what is not known stands first at each place."""
    places = (
        (place_name(place, catalog), f"places.{place}.geometry.", at.geometry)
        for place, at in bike.has.places.items()
    )
    groups = (("the bike as a whole", "facts.", {**OF_NO_MODEL, **bike.has.facts}), *places)
    return tuple(
        MeasurableAt(name=name, facts=tuple(sorted(found, key=lambda x: x.recorded != NOT_KNOWN)))
        for name, path, facts in groups
        if (found := tuple(_facts(path, facts, catalog)))
    )


NOT_KNOWN = "not known yet"


def _facts(path: str, facts: Mapping[str, Value | Unknown], catalog: Catalog) -> Iterator[Measurable]:
    for name, value in facts.items():
        if not isinstance(value, tuple):
            recorded = NOT_KNOWN if isinstance(value, Unknown) else _written(value)
            yield Measurable(path=path + name, name=told_path(path + name, catalog), recorded=recorded)


def _written(value: Value) -> str:
    match value:
        case bool():
            return "yes" if value else "no"
        case int() | float():
            return words.number(value)
        case str():
            return value.replace("_", " ")
    return ", ".join(value)


def measured_in(fields: Fields, bike: Bike) -> Iterator[dict[str, object]]:
    """Read what was measured on a bike, as the API is told of it.

    Raises:
        MalformedQuestion: It is none of the bike's facts, or a value cannot be read.
    """
    recorded = {f"facts.{name}": value for name, value in {**OF_NO_MODEL, **bike.has.facts}.items()}
    for place, at in bike.has.places.items():
        recorded |= {f"places.{place}.geometry.{name}": value for name, value in at.geometry.items()}
    columns = (fields.all(x) for x in ("measured", "measured_value", "measured_on"))
    for path, told, on in zip_longest(*columns, fillvalue=""):
        if path and told:
            if path not in recorded:
                raise MalformedQuestion(
                    "measured", "this bike has no such fact on record", "choose from the list"
                )
            value = None if told == OTHERWISE else _read(told, recorded[path])
            day = {"on": day_of(on, "measured_on").isoformat()} if on else {}
            yield {"path": path, "value": value, **day}


def _read(told: str, recorded: Value | Unknown) -> bool | float | str:
    """Read a value as the record has it; where nothing is on record, as what it looks like."""
    if told.lower() in WORDS and not isinstance(recorded, str):
        return WORDS[told.lower()]
    try:
        return float(told.replace(",", "."))
    except ValueError:
        return told.replace(" ", "_") if isinstance(recorded, str) else told


def measured_by(question: PathQuestion, fields: Fields) -> PathQuestion:
    """Add who measured, and which photo shows it: neither is part of an address, which is written to logs."""
    measured = tuple(
        replace(x, by=fields.short("measured_by"), photo=fields.short(f"photo:{x.path}"))
        for x in question.found.measured
    )
    return replace(question, found=replace(question.found, measured=measured))


def tell_found(found: AsFound, catalog: Catalog) -> tuple[str, ...]:
    """Tell what is known of a rider's bike that the table of positions does not show."""
    return tuple(_told(found, catalog))


def _told(found: AsFound, catalog: Catalog) -> Iterator[str]:
    for place in sorted(found.unknown_work):
        yield f"Nobody knows what was done at the {place_name(place, catalog)}"
    for fact in found.measured:
        value = (
            "other than on record, not measured" if isinstance(fact.value, Unknown) else _written(fact.value)
        )
        by = f" by {fact.by}" if fact.by else ""
        on = f" on {words.day(fact.on)}" if fact.on else ""
        photo = f", photo {fact.photo}" if fact.photo else ""
        yield f"Measured on this bike{on}{by}: {told_path(fact.path, catalog)}: {value}{photo}"


def told_path(path: str, catalog: Catalog) -> str:
    """Name a fact of a bike by its path."""
    first, *inner = path.split(".")
    where = f", {place_name(inner[0], catalog)}" if first == "places" and inner else ""
    return f"{fact_name(path)}{where}"
