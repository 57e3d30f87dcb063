"""A template for a new bike family: places and facts that rules ask about, all unknown, and a neighbour's plugs."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Selector
from rules.catalog.rule import Clearance, MassLimit, Provides, RuleEntry, SupplyLimit
from rules.check.context import BIKE_WORDS
from rules.conditions import facts_named
from rules.tables import Tables
from service.authoring.emit import Noted, Value, block
from service.authoring.filler import as_written, source, unknown
from service.authoring.places_of import known, new
from service.authoring.proposal import Proposal, neighbours
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import modeline_beside


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyAsked:
    """What a person says of a new family. `trims` are written `ID:Name`; `like` is a family to copy places and plugs from."""

    family: str
    maker: str
    name: str
    mount: str
    cooling: str
    years: str
    trims: tuple[str, ...]
    like: str | None


def new_family(directory: Path, asked: FamilyAsked, on: date) -> Proposal:
    """Propose a file for a new family.

    Raises:
        CannotWrite: The id is taken, or there is no such family to copy from.
    """
    catalog = neighbours(directory)
    families = {bike.family for bike in catalog.bikes.values()}
    new(asked.family, families, "bike family")
    if asked.like:
        known(asked.like, families, "bike family")
    like = _last_bike(catalog, asked.like) if asked.like else None
    name = f"bikes/{asked.family}.yaml"
    return Proposal(
        name=name,
        before=None,
        after=modeline_beside(directory, name) + block(_family(catalog, asked, like, on)),
    )


def _last_bike(catalog: Catalog, family: str) -> Bike:
    """Give the bike of a family's last year that has the most places."""
    bikes = [bike for bike in catalog.bikes.values() if bike.family == family]
    return max(bikes, key=lambda bike: (bike.year, len(bike.has.places), bike.id))


def _family(catalog: Catalog, asked: FamilyAsked, like: Bike | None, on: date) -> dict[str, Value]:
    return {
        "family": asked.family,
        "maker": asked.maker,
        "name": asked.name,
        "mount": asked.mount,
        "cooling": asked.cooling,
        "trims": [_trim(written, asked.years) for written in asked.trims],
        "entries": [{"years": _years(asked.years), "source": source(on), "all": _has(catalog, asked, like)}],
    }


def _trim(written: str, years: str) -> dict[str, Value]:
    trim, colon, name = written.partition(":")
    if not colon:
        raise CannotWrite("a trim is written ID:Name, such as --trim plain:Plain")
    return {"id": trim, "name": name, "years": _years(years)}


def _years(years: str) -> Value:
    return int(years) if years.isdecimal() else years


def _has(catalog: Catalog, asked: FamilyAsked, like: Bike | None) -> dict[str, Value]:
    whose = f"the {asked.name}"
    facts = {fact: unknown(catalog, f"facts.{fact}", whose) for fact in sorted(_bike_facts(catalog))}
    listed = like.has.places if like else catalog.places
    places = {place: _place(catalog, place, whose, like) for place in sorted(listed)}
    tree: dict[str, Value] = {
        "facts": facts,
        "places": Noted(places, "delete what this bike does not have"),
    }
    if like is not None:
        note = f"as on {like.id}: look at each plug, and correct what differs"
        tree["loom"] = Noted(_loom(like), note)
        tree["stock"] = Noted(dict(like.has.stock), f"as on {like.id}")
    return tree


def _loom(like: Bike) -> dict[str, Value]:
    """Give a neighbour's own plugs; those that a rule provides come by themselves."""
    provided = {name for name in like.has.loom.connectors if f"loom.connectors.{name}" in like.origins}
    loom = as_written(like.has.loom)
    connectors = {name: plug for name, plug in loom.get("connectors", {}).items() if name not in provided}
    links = {
        fed: feeding
        for fed, feeding in loom.get("links", {}).items()
        if not {fed.partition(".")[0], feeding.partition(".")[0]} & provided
    }
    return {"connectors": connectors, "links": links}


def _place(catalog: Catalog, place: str, whose: str, like: Bike | None) -> dict[str, Value]:
    asked = sorted(_place_facts(catalog).get(place, set()))
    found: dict[str, Value] = {
        "geometry": {fact: unknown(catalog, f"places.{place}.geometry.{fact}", whose) for fact in asked}
    }
    there = like.has.places.get(place) if like else None
    if there is not None and there.carrier_needed is True:
        found = {"carrier_needed": True, **found}
    if there is not None and there.max_mass_kg is not None:
        found["max_mass_kg"] = unknown(catalog, f"places.{place}.max_mass_kg", whose)
    return found if asked else {key: value for key, value in found.items() if key != "geometry"}


def _bike_facts(catalog: Catalog) -> set[str]:
    """Facts of a bike that some rule asks about and no rule provides."""
    asked: set[str] = set()
    provided: set[str] = set()
    for rule in catalog.rules.values():
        asked |= {name for scope, name in _named(rule) if scope == "bike"}
        match rule:
            case Provides():
                provided |= set(rule.facts)
            case MassLimit(fact=str() as fact):
                asked.add(fact)
            case SupplyLimit(limit="charging"):
                asked.add("charging_headroom_a")
            case SupplyLimit(limit="idle"):
                asked.add("idle_headroom_a")
            case _:
                pass
    return asked - provided - BIKE_WORDS


def _place_facts(catalog: Catalog) -> Mapping[str, set[str]]:
    """Dimensions that some rule asks about, for each place where it may ask."""
    tables = Tables(catalog)
    found: dict[str, set[str]] = {}
    for rule in catalog.rules.values():
        names = {name for scope, name in _named(rule) if scope == "place"}
        names |= {rule.geometry} if isinstance(rule, Clearance) else set()
        subject = getattr(rule, "subject", None)
        for place in _reached(catalog, tables, subject) if names and subject else ():
            found.setdefault(place, set()).update(names)
    return found


def _reached(catalog: Catalog, tables: Tables, subject: Selector) -> set[str]:
    """Places where a part that a selector selects may go."""
    parts = [catalog.parts[part] for part in tables.selected(subject)]
    return {
        place.id
        for place in catalog.places.values()
        for part in parts
        if part.slot in place.slots
        and (not part.at or place.id in part.at)
        and (not subject.at or place.id in subject.at)
    }


def _named(rule: RuleEntry) -> Iterator[tuple[str, str]]:
    when = getattr(rule, "when", None)
    for fact in facts_named(when) if when is not None else ():
        scope, _, name = fact.partition(".")
        yield scope, name
