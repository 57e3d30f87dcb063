"""Which placements mean something else in another release: found in the catalogs, before any question is asked."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date
from itertools import chain
from typing import TypeVar

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.bike import BikePlace
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Selector
from rules.catalog.price import PriceList
from rules.catalog.rule import Clearance, Operation, Rule
from rules.desk import Desk
from rules.impact.meaning import Meanings
from rules.tables import Tables

T = TypeVar("T")

ASPECTS = ("rules", "wires", "work", "money")
ASPECTS_OF_PLACES = ("rules", "work")
"""Those that look at what a place is like: conditions and dimensions may ask for it."""

_ASPECT_OF_KIND: Mapping[str, str] = {
    "channel_limit": "wires",
    "supply_limit": "wires",
    "preset_chain": "wires",
    "operation": "work",
    "hold": "money",
    "provides": "",  # What it gives is in the bikes, which are compared themselves.
}


def changed_keys(old: Mapping[str, T], new: Mapping[str, T]) -> frozenset[str]:
    """Give the keys that are only in one mapping, or have another value in it."""
    return frozenset(
        key
        for key in old.keys() | new.keys()
        if old.get(key) is not new.get(key) and old.get(key) != new.get(key)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """Parts by aspect that must be compared on every bike; `everything` where the vocabulary itself differs."""

    parts: Mapping[str, frozenset[str]]
    watched: frozenset[str] = field(default_factory=frozenset)
    everything: bool = False

    @property
    def is_empty(self) -> bool:
        """Tell whether the same bike has the same answers in both."""
        return not self.everything and not any(self.parts.values())


def touched(old: Tables, new: Tables, days: tuple[date, ...]) -> Touched:
    """Compare two compiled catalogs, bikes aside."""
    parts = changed_keys(old.catalog.parts, new.catalog.parts)
    parts |= changed_keys(old.catalog.lines, new.catalog.lines)
    found: dict[str, set[str]] = {aspect: set(parts) for aspect in ASPECTS}
    found["wires"] = {name for name in parts if _plugged(old, name) != _plugged(new, name)}
    _relieved(old, new, parts, found["rules"])
    for tables in (old, new):
        _offered(tables, parts, found["money"])
    for name in changed_keys(old.catalog.rules, new.catalog.rules):
        for tables in (old, new):
            rule = tables.catalog.rules.get(name)
            if rule is not None:
                _rule(tables, rule, found)
    _wired(old, new, found["wires"])
    for day in days:
        found["money"] |= priced((old.catalog, day), (new.catalog, day))
    everything = old.catalog.places != new.catalog.places
    return Touched(
        parts={aspect: frozenset(names) for aspect, names in found.items()},
        watched=parts,
        everything=everything,
    )


_PLUGGED = (
    "kind",
    "slot",
    "at",
    "tags",
    "host",
    "connectors",
    "links",
    "channels",
    "speaker",
    "supply",
    "cable",
)
"""What wirings, loads and supply take from a part: `Meanings.wires` reads no more."""


def _plugged(tables: Tables, name: str) -> tuple[object, ...] | None:
    part = tables.catalog.parts.get(name)
    if part is None:
        return None
    return tables.catalog.lines.get(name), *(getattr(part, field) for field in _PLUGGED)


def _relieved(old: Tables, new: Tables, parts: Iterable[str], found: set[str]) -> None:
    """Take in what a changed part relieves otherwise: its dimensions are told there."""
    for tables in (old, new):
        for rule in tables.catalog.rules.values():
            if rule.kind == "clearance" and any(
                _relief(old, x, rule) != _relief(new, x, rule) for x in parts
            ):
                found |= tables.selected(rule.subject)


def _relief(tables: Tables, name: str, rule: Clearance) -> tuple[object, ...] | None:
    """Give where a part relieves a rule and by how much; None if it never does."""
    part = tables.catalog.parts.get(name)
    if part is None or rule.relieved_by_spec is None or part.slot != rule.relieved_by_slot:
        return None
    return part.at, part.spec.get(rule.relieved_by_spec)


def _offered(tables: Tables, parts: Iterable[str], found: set[str]) -> None:
    """Take in what a changed bundle holds and what a changed preset is made for."""
    for name in parts:
        part = tables.catalog.parts.get(name)
        if part is not None:
            found |= {*part.members, *(part.preset.amplifiers if part.preset else ())}


def _rule(tables: Tables, rule: Rule, found: dict[str, set[str]]) -> None:
    aspect = _ASPECT_OF_KIND.get(rule.kind, "rules")
    if not aspect:
        return
    subject: Selector | None = getattr(rule, "subject", None)
    if isinstance(rule, Operation) and subject is None:
        found[aspect] |= {name for name, rules in tables.operations.items() if rules}
    elif subject is not None:
        found[aspect] |= tables.selected(subject)
    else:
        found[aspect] |= {name for name, part in tables.catalog.parts.items() if part.slot}
    if aspect == "money":
        _offered(tables, found[aspect], found[aspect])


def _wired(old: Tables, new: Tables, found: set[str]) -> None:
    """Take in every part whose plugs read differently: contact maps are written elsewhere."""
    maps = changed_keys(old.catalog.contact_maps, new.catalog.contact_maps)
    for tables in (old, new):
        for part in tables.catalog.parts.values() if maps else ():
            if any(connector.map in maps for connector in part.connectors.values()):
                found.add(part.id)
    if old.needs_tags != new.needs_tags:
        found |= {x for tables in (old, new) for x, part in tables.catalog.parts.items() if part.slot}
    if old.services != new.services:
        found |= changed_keys(old.services, new.services)


def priced(before: tuple[Catalog, date], after: tuple[Catalog, date]) -> set[str]:
    """Give the parts that may cost something else by another catalog, or on another day."""
    one, other = list_on(*before), list_on(*after)
    if one == other:
        return set()
    if one is None or other is None or _rates(one) != _rates(other):
        return set(before[0].parts) | set(after[0].parts)
    names = changed_keys(one[0].prices, other[0].prices) | changed_keys(one[0].resale, other[0].resale)
    offered = [
        x for catalog in (before[0], after[0]) for name in names if (x := catalog.parts.get(name)) is not None
    ]
    members = {x for part in offered for x in part.members}
    served = {x for part in offered if part.preset for x in part.preset.amplifiers}
    return {*names, *members, *served}


def _rates(found: tuple[PriceList, bool]) -> tuple[int, int, bool]:
    return found[0].labour_per_hour, found[0].freight, found[1]


def list_on(catalog: Catalog, day: date) -> tuple[PriceList, bool] | None:
    """Give the price list in force on a day and whether it is assumed, as `Pricer.list_on` does."""
    lists = catalog.price_lists
    for one in lists:
        if one.first <= day <= one.last:
            return one, False
    return (lists[-1], True) if lists and day > lists[-1].last else None


def same_bike(one: Bike, other: Bike) -> bool:
    """Tell whether two bikes have the same facts; names and sources of facts decide nothing."""
    return one is other or (_words(one) == _words(other) and one.has == other.has)


def _words(bike: Bike) -> tuple[object, ...]:
    return bike.family, bike.maker, bike.year, bike.trim, bike.mount, bike.cooling


@dataclass(frozen=True, slots=True, kw_only=True)
class Differing:
    """What means something else on one bike. `ground`: what is on the bike itself does, so that every answer may change.

    `refused` are those of the placements that are refused in both releases whatever else is fitted.
    """

    ground: bool
    placements: frozenset[Placement]
    refused: frozenset[Placement] = frozenset()

    @property
    def is_empty(self) -> bool:
        """Tell whether every answer on the bike stays as it is."""
        return not self.ground and not self.placements


def differing(old: Desk, new: Desk, what: Touched, days: tuple[date, ...], *, same: bool) -> Differing:
    """Compare what placements mean on one bike in two releases.

    Args:
        same: The bike itself has the same facts in both, so that only what was touched needs a look.
    """
    one, other = Meanings(old, days, what.watched), Meanings(new, days, what.watched)
    if one.ground() != other.ground():
        return Differing(ground=True, placements=frozenset())
    aspects: dict[Placement, set[str]] = {}
    for aspect, placed in _candidates(old, new, what, same=same):
        if _differs(one, other, aspect, placed):
            aspects.setdefault(placed, set()).add(aspect)
    found = {x for x, differ in aspects.items() if "wires" in differ or not _is_refused_alike(one, other, x)}
    # What a rider owns is on his bike, or goes along to the next one: it is in every build.
    own = {part.id for part in old.bench.found.own_parts}
    ground = not found.isdisjoint(old.bench.present) or any(x.part in own for x in found)
    refused = frozenset(
        x for x in found if _is_known(x, one, other) and one.is_refused(x) and other.is_refused(x)
    )
    return Differing(ground=ground, placements=frozenset(found), refused=refused)


def _candidates(old: Desk, new: Desk, what: Touched, *, same: bool) -> Iterator[tuple[str, Placement]]:
    """Give what needs a look: all that looks at a place that differs, and elsewhere what was touched, in that aspect only."""
    benches = (old.bench, new.bench)
    places = {} if same else _places_that_differ(*benches)
    if what.everything or places is None:
        placements = {x for bench in benches for x in bench.universe | bench.present}
        yield from ((aspect, placed) for placed in placements for aspect in ASPECTS)
        return
    here = {x for place, names in places.items() for bench in benches for x in _looking(bench, place, names)}
    yield from ((aspect, placed) for placed in here for aspect in ASPECTS_OF_PLACES)
    own = {part.id for part in old.bench.found.own_parts}
    for aspect in ASPECTS:
        names = what.parts[aspect] | (own if not what.is_empty or not same else frozenset())
        done = here if aspect in ASPECTS_OF_PLACES else frozenset()
        for placed in _placements(benches, names) - done:
            yield aspect, placed


def _looking(bench: Bench, place: str, dimensions: frozenset[str] | None) -> Iterator[Placement]:
    """Give what looks at any of these dimensions of a place; all that is there where more than dimensions differ."""
    there = (x for x in chain(bench.universe, bench.present) if x.place == place)
    if dimensions is None:
        yield from there
        return
    looking = bench.tables.looking
    names = frozenset[str]().union(*(looking.get(name, ()) for name in dimensions))
    yield from (x for x in there if x.part in names)


def _placements(benches: tuple[Bench, Bench], names: frozenset[str]) -> set[Placement]:
    """Give all placements of some parts on a bike."""
    found = {x for bench in benches for x in bench.present if x.part in names}
    return found.union(x for bench in benches for name in names for x in bench.of_part(name))


def _places_that_differ(one: Bench, other: Bench) -> dict[str, frozenset[str] | None] | None:
    """Give the places that two bikes have otherwise, with the dimensions that differ; None for one with more than these.

    Returns: None if the bikes differ in anything else that a rule may look at.
    """
    old, new = one.has, other.has
    if (
        _words(one.bike) != _words(other.bike)
        or (old.facts, old.loom, old.stock) != (new.facts, new.loom, new.stock)
        or old.places.keys() != new.places.keys()
    ):
        return None
    return {
        name: _dimensions_that_differ(place, new.places[name])
        for name, place in old.places.items()
        if place != new.places[name]
    }


def _dimensions_that_differ(one: BikePlace, other: BikePlace) -> frozenset[str] | None:
    if one.model_copy(update={"geometry": other.geometry}) != other:
        return None
    return changed_keys(one.geometry, other.geometry)


def _is_known(placed: Placement, *sides: Meanings) -> bool:
    return all(placed.part in x.bench.tables.catalog.parts for x in sides)


def _is_refused_alike(one: Meanings, other: Meanings, placed: Placement) -> bool:
    """Tell whether a part is refused outright in both, in the same words: what else it means is never asked for."""
    if not _is_known(placed, one, other):
        return False
    refusal = one.refusal(placed)
    return refusal is not None and refusal == other.refusal(placed)


def _differs(one: Meanings, other: Meanings, aspect: str, placed: Placement) -> bool:
    if not _is_known(placed, one, other):
        return True
    return bool(getattr(one, aspect)(placed) != getattr(other, aspect)(placed))
