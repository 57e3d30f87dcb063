"""One bike as found, on the bench: its facts by name with their source, what could be placed where, and what is there now."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from functools import cached_property
from typing import Any, Literal

from pydantic import ValidationError

from rules.build import STOCK, AsFound, Build, Measured, Placement, Slot, stock_placements
from rules.catalog.bike import BikeFacts
from rules.catalog.catalog import Bike
from rules.catalog.condition import Selector
from rules.catalog.facts import Source, Unknown, Value, YearSpan, has_unit
from rules.catalog.part import Part
from rules.catalog.rule import Provides
from rules.conditions import evaluate
from rules.errors import MalformedQuestion
from rules.judged import Judged
from rules.likeness import Likeness
from rules.mating import Face
from rules.net import LOOM, Net, Node, Wiring, mate
from rules.tables import Tables, rules_of_kind
from rules.universe import Universe
from rules.verdict import Cause, TrueOf
from rules.wires import Wires, wires_of_loom


class Bench:
    """A bike as found. Placements, builds and facts are always read through here."""

    def __init__(self, tables: Tables, bike: Bike, found: AsFound = STOCK) -> None:
        self.tables = tables
        self.bike = bike
        self.found = found
        self._measured = {measured.path: measured for measured in found.measured}
        _check_names(found.measured, tables.fact_names)
        self.has = _with_measured(bike.has, found.measured)
        self.stock = stock_placements(bike.has.stock)
        self.present: Build = found.present(self.stock)
        self._own = frozenset(part.id for part in found.own_parts)
        self._bike_facts = self._name_bike_facts()
        self._look_again()
        self.loom: Wires = wires_of_loom(self.has.loom, tables.catalog.contact_maps, tables.mates)
        self._could_take = self._universe()
        self.judged = self._judged()
        self.too_little: dict[object, frozenset[Placement]] = {}
        self.chains_in_force: tuple[Any, ...] | None = None

    @cached_property
    def seen(self) -> Wiring:
        """The mated plugs that somebody has seen on this bike."""
        return frozenset(mate(Node.named(one), Node.named(other)) for one, other in self.found.wiring)

    def part(self, placed: Placement) -> Part:
        """Give the part of a placement."""
        return self.tables.catalog.parts[placed.part]

    def selects(self, selector: Selector, placed: Placement) -> bool:
        """Tell whether a selector selects a placed part."""
        return self.tables.selects(selector, placed)

    def is_wired(self, placed: Placement) -> bool:
        """Tell whether a wiring can depend on a placed part: it has plugs, or a tag that wakes a channel."""
        tables = self.tables
        return bool(tables.wires[placed.part].connectors) or not tables.needs_tags.isdisjoint(
            self.part(placed).tags
        )

    def is_chained(self, placed: Placement) -> bool:
        """Tell whether an amplifier is only sound with a preset, whatever it feeds."""
        return any(self.selects(rule.subject, placed) for rule in self.tables.preset_chains)

    def is_head(self, placed: Placement) -> bool:
        """Tell whether a part is a head unit, or hosted by one: a preset is made for it."""
        part = self.part(placed)
        return part.kind == "head_unit" or any(
            self.tables.catalog.parts[host].kind == "head_unit" for host in part.host
        )

    def _universe(self) -> Universe:
        if self._own:
            return Universe(self.tables, self.has.places, self._own, self.present)
        return self.tables.universe(frozenset(self.has.places))

    def _judged(self) -> Judged:
        """Share what is found out about wirings with all bikes of the same plugs; what was found on one bike stays with it."""
        loom = self.has.loom
        if self.found != STOCK or any(x.presence is not None for x in loom.connectors.values()):
            return Judged()
        return self._could_take.judged(loom.model_dump_json())

    @property
    def reliefs(self) -> dict[object, tuple[Placement, ...]]:
        """Give what was chosen among parts that may relieve others: figures of parts alone decide it, so like bikes share it."""
        return self._could_take.reliefs

    @property
    def universe(self) -> frozenset[Placement]:
        """Every part at every place of this bike that has its slot, whether it fits or not."""
        return self._could_take.placements

    def of_part(self, part: str) -> Iterable[Placement]:
        """Give every place of this bike where a part could be placed."""
        return self._could_take.of_part(part)

    def can_place(self, part: Part, place: str) -> bool:
        """Tell whether a part could be placed there; a rider's own part is where it was found, or nowhere on this bike."""
        if part.id in self._own and Placement(part.id, place) not in self.present:
            return False
        return self.has_slot(part, place)

    def has_slot(self, part: Part, place: str) -> bool:
        """Tell whether a place of this bike has the part's slot and the part may go there."""
        if place not in self.has.places or part.slot is None or (part.at and place not in part.at):
            return False
        return part.slot in self.tables.catalog.places[place].slots

    def capacity(self, place: str, slot: str) -> int:
        """Give how many parts a slot takes."""
        return self.tables.catalog.places[place].slots.get(slot, 0)

    def slot(self, placed: Placement) -> Slot:
        """Give the slot that a part takes."""
        return placed.place, self.part(placed).slot or ""

    def candidates(self, selector: Selector, place: str | None) -> frozenset[Placement]:
        """Give what a selector selects among all that could be placed (at one place)."""
        return self._could_take.candidates(selector, place)

    def in_slot(self, place: str, slot: str) -> frozenset[Placement]:
        """Give all that could be placed in a slot."""
        return self._could_take.in_slot(place, slot)

    def with_tag(self, place: str, tag: str) -> frozenset[Placement]:
        """Give all that could be placed in a place and has a tag."""
        return self._could_take.with_tag(place, tag)

    def twins(self, placed: Placement) -> frozenset[Placement]:
        """Give the parts that no wiring can tell from this one and that its slot cannot hold beside it; itself among them."""
        slot, tables = self.part(placed).slot or "", self.tables
        if self.capacity(placed.place, slot) != 1:
            return frozenset({placed})
        return frozenset(
            x for x in self.in_slot(placed.place, slot) if tables.twins[x.part] == tables.twins[placed.part]
        )

    def likeness(self, placed: Placement) -> object:
        """Give what only placements share of which any one may stand for another, price aside: one at most has room."""
        is_itself = placed in self.stock or placed.part in self._own
        if is_itself or self.capacity(placed.place, self.part(placed).slot or "") != 1:
            return placed
        likeness = self._could_take.likeness
        return likeness.of(placed.part), placed.place, tuple(self._by_colour(likeness, placed))

    def _by_colour(self, likeness: Likeness, placed: Placement) -> Iterator[object]:
        """Tell how each condition that asks for colour comes out; where that is open, the colour counts."""
        for when in likeness.about_colour:
            holds = evaluate(when, lambda name: self.fact(name, placed), lambda _: None).holds
            yield self.part(placed).colour if holds is None else holds

    def kin(self, placed: Placement) -> frozenset[Placement]:
        """Give the parts that no plug can tell from this one and that its slot cannot hold beside it; itself among them."""
        slot, tables = self.part(placed).slot or "", self.tables
        if self.capacity(placed.place, slot) != 1:
            return frozenset({placed})
        plugs = tables.kin[placed.part]
        there = {x for x in self.present if x.place == placed.place and tables.kin[x.part] == plugs}
        # Thousands of parts may be alike: their set is taken as it is, and is hashed once.
        known = self._could_take.with_plugs(placed.place, slot, plugs)
        more = there.union({placed}) - known
        return known | more if more else known

    def like(self, placed: Placement, true_of: TrueOf) -> frozenset[Placement]:
        """Give the parts of which a law is as true as of this one, and that its slot cannot hold beside it; itself among them."""
        if true_of == "these":
            return frozenset({placed})
        if true_of == "kin":
            return self.kin(placed)
        part = self.part(placed)
        if part.channels:
            return frozenset({placed})
        if part.speaker is None:
            return self.kin(placed)
        ohm = self.fact("part.impedance_ohm", placed)
        if not isinstance(ohm, float):
            return frozenset({placed})
        by_ohm = self.tables.by_figure(self.kin(placed), "impedance_ohm")
        return frozenset(
            {placed}.union(*(x for value, x in by_ohm if isinstance(value, float) and value <= ohm))
        )

    @cached_property
    def highest_ohm(self) -> float:
        """The highest known impedance of a speaker that this bike could carry [ohm]."""
        speakers = (self.part(x).speaker for x in self.universe | self.present)
        ohms = [x.impedance_ohm for x in speakers if x and not isinstance(x.impedance_ohm, Unknown)]
        return max(ohms, default=1.0)

    def mateable(self, place: str, face: Face) -> frozenset[Placement]:
        """Give all placements that could bring a connector which mates with this face in this place."""
        return self._could_take.mateable(place, face)

    def net(self, build: Build, *, unknown_plugs: bool) -> Net:
        """Give the plugs of a build; plugs that may or may not be there only if asked for."""
        wires = self._wires_of(build)
        wires[LOOM] = self.loom if unknown_plugs else self._known_loom
        return Net(wires, self._waking_tags(build), self.tables.mates)

    def larger_net(self, net: Net, build: Build, more: Build) -> Net:
        """Give the plugs of a build with more parts, from those of the build."""
        return Net(self._wires_of(more - build), self._waking_tags(more), self.tables.mates, net)

    def _wires_of(self, build: Build) -> dict[Placement, Wires]:
        wires = ((placed, self.tables.wires[placed.part]) for placed in build)
        return {placed: owned for placed, owned in wires if owned.connectors}

    def _waking_tags(self, build: Build) -> Mapping[str, frozenset[str]]:
        tags: dict[str, frozenset[str]] = {}
        for placed in build if self.tables.needs_tags else ():
            found = self.tables.needs_tags.intersection(self.part(placed).tags)
            if found:
                tags[placed.place] = tags.get(placed.place, frozenset()) | found
        return tags

    def presence_cause(self, node: Node) -> Cause | None:
        """Give the unknown behind a plug that may or may not be there."""
        connector = self.loom.connectors.get(node.connector) if node.owner == LOOM else None
        if connector is None or connector.presence is None:
            return None
        return self._cause(f"loom.connectors.{node.connector}.presence", self.bike.id, connector.presence)

    def fact(self, name: str, subject: Placement) -> Value | Unknown | None:
        """Give a fact by the name that conditions use; None if nothing is recorded."""
        scope, _, key = name.partition(".")
        if scope == "bike":
            return self._bike_facts.get(key)
        if scope == "place":
            place = self.has.places.get(subject.place)
            return place.geometry.get(key) if place else None
        return self.tables.facts[subject.part].get(key)

    def cause(self, name: str, subject: Placement) -> Cause:
        """Give a fact with its source, as a cause of a finding."""
        scope, _, key = name.partition(".")
        if scope == "bike":
            return self.bike_cause(key)
        value = self.fact(name, subject)
        if scope == "place":
            return self._cause(f"places.{subject.place}.geometry.{key}", subject.place, value)
        # Which part it is, nobody has measured or looked up.
        source = None if key == "id" else self.part(subject).source
        return Cause(fact=name, of=subject.part, value=value, source=source)

    def bike_cause(self, key: str) -> Cause:
        """Give a fact of the bike itself."""
        name = f"bike.{key}" if key in _OF_EVERY_BIKE else f"facts.{key}"
        return self._cause(f"facts.{key}", self.bike.id, self._bike_facts.get(key), name)

    def place_mass_cause(self, place: str) -> Cause | None:
        """Give a place's own mass limit, if it has one."""
        limit = self.has.places[place].max_mass_kg
        return None if limit is None else self._cause(f"places.{place}.max_mass_kg", place, limit)

    def enclosure_cause(self, place: str, key: Literal["volume_l", "tuning"]) -> Cause:
        """Give a figure of the air behind a place's speakers."""
        enclosure = self.has.places[place].enclosure
        value = None if enclosure is None else getattr(enclosure, key)
        return self._cause(f"places.{place}.enclosure.{key}", place, value)

    def carrier_cause(self, place: str) -> Cause:
        """Give whether a place needs a carrier."""
        return self._cause(f"places.{place}.carrier_needed", place, self.has.places[place].carrier_needed)

    def _cause(self, path: str, of: str, value: Value | Unknown | None, name: str = "") -> Cause:
        measured = self._measured.get(path)
        if measured is not None:
            return Cause(fact=name or path, of=of, value=value, source=_on_this_bike(measured))
        origin = self.bike.origins.get(path)
        source: Source | None = origin.source if origin else None
        span: YearSpan | None = origin.years if origin else None
        return Cause(fact=name or path, of=of, value=value, source=source, span=span)

    @cached_property
    def _known_loom(self) -> Wires:
        known = {name: x for name, x in self.loom.connectors.items() if x.presence is None}
        return Wires(
            connectors=known,
            faces={name: self.loom.faces[name] for name in known},
            numbers={name: self.loom.numbers[name] for name in known},
            feeds={
                fed: feeding
                for fed, feeding in self.loom.feeds.items()
                if fed.connector in known and feeding.connector in known
            },
            outputs={},
            sinks=(),
        )

    def _look_again(self) -> None:
        """Apply what is known of plugs that may or may not be there: somebody has seen them mated, or measured what decides it."""
        loom = self.has.loom
        connectors = dict(loom.connectors)
        for name in {
            node.connector for pair in self.seen for node in pair if node.owner == LOOM
        } & connectors.keys():
            connectors[name] = connectors[name].model_copy(update={"presence": None})
        for rule in rules_of_kind(self.tables.catalog, Provides) if self._measured else ():
            holds = evaluate(
                rule.when, lambda name: self._bike_facts.get(name.removeprefix("bike.")), lambda _: None
            ).holds
            for name in rule.connector:
                if holds is not None and name in connectors and connectors[name].presence is not None:
                    connectors[name] = connectors[name].model_copy(update={"presence": None})
                    if holds is False:
                        del connectors[name]
        if connectors != loom.connectors:
            self.has = self.has.model_copy(
                update={"loom": loom.model_copy(update={"connectors": connectors})}
            )

    def _name_bike_facts(self) -> Mapping[str, Value | Unknown]:
        bike = self.bike
        named: dict[str, Value | Unknown] = {
            "family": bike.family,
            "maker": bike.maker,
            "year": bike.year,
            "trim": bike.trim,
            "mount": bike.mount,
            "cooling": bike.cooling,
        }
        return {**self.has.facts, **named}


_OF_EVERY_BIKE = frozenset({"family", "maker", "year", "trim", "mount", "cooling"})
"""What a bike is by its name; everything else is a recorded fact, and is named by the path that a measurement uses."""


def _on_this_bike(measured: Measured) -> Source:
    return Source(kind="measured", ref=measured.by or "measured on this bike", date=measured.on or date.min)


def _check_names(measured: tuple[Measured, ...], known: frozenset[str]) -> None:
    """Refuse a dimension that no bike records and no rule asks for, and text where its name carries a unit."""
    for fact in measured:
        steps = fact.path.split(".")
        is_named = "geometry" in steps
        is_number = isinstance(fact.value, int | float | Unknown) and not isinstance(fact.value, bool)
        if is_named and (steps[-1] not in known or (has_unit(steps[-1]) and not is_number)):
            raise _no_such_fact()


def _with_measured(has: BikeFacts, measured: tuple[Measured, ...]) -> BikeFacts:
    if not measured:
        return has
    tree = has.model_dump()
    for fact in measured:
        _set(tree, list(_steps(fact.path)), fact)
    try:
        return BikeFacts.model_validate(tree)
    except ValidationError as error:
        raise _no_such_fact() from error


def _steps(path: str) -> Iterator[str]:
    yield from path.split(".")


def _set(tree: dict[str, object], steps: list[str], fact: Measured) -> None:
    *parents, last = steps
    if last == "presence":
        _look(tree, parents, fact)
        return
    for step in parents:
        inner = tree.get(step)
        if not isinstance(inner, dict):
            raise _no_such_fact()
        tree = inner
    tree[last] = fact.value


def _look(tree: dict[str, object], parents: list[str], fact: Measured) -> None:
    """Record that somebody looked for a plug: it is there, or it is not."""
    *outer, name = parents
    for step in outer:
        inner = tree.get(step)
        if not isinstance(inner, dict):
            raise _no_such_fact()
        tree = inner
    connector = tree.get(name)
    if not isinstance(connector, dict) or not isinstance(fact.value, bool):
        raise _no_such_fact()
    if fact.value:
        connector["presence"] = None
    else:
        del tree[name]


def _no_such_fact() -> MalformedQuestion:
    return MalformedQuestion(
        "found.measured",
        "a measured fact names something that this bike does not have, or gives it a value of the wrong kind",
        "use a dotted path such as places.rear_pods.geometry.depth_mm, or loom.connectors.NAME.presence with true or false",
    )
