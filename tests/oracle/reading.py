"""Plain look-ups for one bike as found: what is known, what can be placed, what is sold, what mates."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from functools import cached_property
from typing import Any, NamedTuple

from rules.build import AsFound, Build, Placement, stock_placements
from rules.catalog.bike import BikeFacts
from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.facts import Unknown

LOOM = "loom"
SIDES = ("left", "right")
MOST_PRESENT = 8
"""The bike may be wired in no more ways than this, or the answer is not verified."""


class Node(NamedTuple):
    """One connector of the loom (owner None) or of a placed part."""

    owner: Placement | None
    connector: str

    @property
    def name(self) -> str:
        """Give the name that somebody who has seen the plug writes down."""
        return f"{self.owner or LOOM}:{self.connector}"


Mate = frozenset[Node]


class End(NamedTuple):
    """A lane of a connector, on one side if the connector is paired."""

    connector: str
    lane: str
    side: str | None


class Sink(NamedTuple):
    """One side of a placed speaker."""

    speaker: Placement
    side: str


def known(value):
    """Give the value, or None where nobody knows it."""
    return None if isinstance(value, Unknown) else value


def exact(value):
    """Give the number that was written, exactly; None where it is not known."""
    return None if known(value) is None else Fraction(str(value))


@dataclass(frozen=True)
class World:
    """One bike as found, in one catalog.

    `now` is the one of the present wirings that the question is asked for, as if it had been seen whole; None while the
    present wirings are still looked for, and where there is none.
    """

    catalog: Catalog
    bike_id: str
    found: AsFound
    now: frozenset[Mate] | None = None

    @cached_property
    def has(self) -> BikeFacts:
        return self.catalog.bikes[self.bike_id].has

    @cached_property
    def stock(self) -> Build:
        return stock_placements(self.has.stock)

    @cached_property
    def present(self) -> Build:
        return self.found.present(self.stock)

    def may_be_wired(self, mates: frozenset[Mate]) -> bool:
        """Tell whether a wiring of the present build holds every mate that somebody has seen."""
        if self.now is not None:
            return mates == self.now
        names = {frozenset(node.name for node in mate) for mate in mates}
        return {frozenset(pair) for pair in self.found.wiring} <= names

    @cached_property
    def measured(self):
        return {m.path: m.value for m in self.found.measured}

    @cached_property
    def memory(self) -> dict[Any, Any]:
        """Keep what has been worked out once for this bike."""
        return {}

    def _once(self, key, work) -> Any:
        if key not in self.memory:
            self.memory[key] = work()
        return self.memory[key]

    def part(self, placement: Placement) -> Any:
        return self.catalog.parts[placement.part]

    def rules(self, *kinds: str):
        every = self.catalog.rules.values()
        return self._once(("rules", kinds), lambda: [one for one in every if not kinds or one.kind in kinds])

    def rule(self, name: str) -> Any:
        return self.catalog.rules[name]

    # What is known --------------------------------------------------------------------------------

    def bike_fact(self, name: str):
        bike = self.catalog.bikes[self.bike_id]
        if name in {"family", "maker", "year", "trim", "mount", "cooling"}:
            return getattr(bike, name)
        return known(self.measured.get(f"facts.{name}", self.has.facts.get(name)))

    def geometry(self, place: str, name: str):
        path = f"places.{place}.geometry.{name}"
        return known(self.measured.get(path, self.has.places[place].geometry.get(name)))

    def mass_limit(self, place: str):
        """Give the place's own limit: `...` where it has none, None where it is unknown."""
        limit = self.measured.get(f"places.{place}.max_mass_kg", self.has.places[place].max_mass_kg)
        return ... if limit is None else exact(limit)

    def part_fact(self, placement: Placement, name: str):
        part = self.part(placement)
        if name == "line":
            return self.catalog.lines[part.id]
        if name in {"id", "kind", "colour"}:
            return getattr(part, name)
        return known(part.spec.get(name))

    # What is meant --------------------------------------------------------------------------------

    def selects(self, selector: Selector, part_id: str, place: str | None = None) -> bool:
        part = self.catalog.parts[part_id]
        return (
            (not selector.part or part_id in selector.part)
            and (selector.kind is None or selector.kind == part.kind)
            and (selector.line is None or selector.line == self.catalog.lines[part_id])
            and (selector.tag is None or selector.tag in part.tags)
            and (selector.slot is None or selector.slot == part.slot)
            and (not selector.at or place in selector.at)
        )

    def selects_placed(self, selector: Selector, placement: Placement) -> bool:
        return self.selects(selector, placement.part, placement.place)

    # What can be placed ---------------------------------------------------------------------------

    def can_place(self, part_id: str, place: str) -> bool:
        part = self.catalog.parts[part_id]
        if place not in self.has.places or part.slot is None:
            return False
        return part.slot in self.catalog.places[place].slots and (not part.at or place in part.at)

    def slot(self, placement: Placement) -> tuple[str, str]:
        slot = self.part(placement).slot
        assert slot is not None
        return placement.place, slot

    def capacity(self, slot: tuple[str, str]) -> int:
        return self.catalog.places[slot[0]].slots[slot[1]]

    @cached_property
    def placeable(self) -> list[Placement]:
        return [
            Placement(part, place)
            for part in sorted(self.catalog.parts)
            for place in sorted(self.has.places)
            if self.can_place(part, place)
        ]

    # What is sold ---------------------------------------------------------------------------------

    def price_list(self, day: date) -> Any:
        lists = sorted(self.catalog.price_lists, key=lambda one: one.first)
        for one in lists:
            if one.first <= day <= one.last:
                return one
        return lists[-1] if lists and day > lists[-1].last else None

    def on_hold(self, part_id: str, day: date) -> bool:
        return any(
            self.selects(rule.subject, part_id)
            and rule.first <= day
            and (rule.last is None or day <= rule.last)
            for rule in self.rules("hold")
        )

    def for_sale(self, part_id: str, day: date):
        return self._once(("for sale", part_id, day), lambda: self._for_sale(part_id, day))

    def _for_sale(self, part_id: str, day: date) -> bool:
        part, prices = self.catalog.parts[part_id], self.price_list(day)
        return (
            prices is not None
            and part_id in prices.prices
            and (part.available is None or part.available.first <= day <= part.available.last)
            and not part.stock_only
            and not self.on_hold(part_id, day)
        )

    def services(self, amplifier: str, day: date) -> list[str]:
        """Give the preset services for sale that list an amplifier, cheapest first."""
        prices = self.price_list(day)
        found = [
            part.id
            for part in self.catalog.parts.values()
            if part.preset and amplifier in part.preset.amplifiers and self.for_sale(part.id, day)
        ]
        return sorted(found, key=lambda one: (self._service_price(one, prices), one))

    def _service_price(self, service: str, prices):
        """Add a service's price and its time at the bench."""
        return prices.prices[service] + (2 * self.minutes(service) * prices.labour_per_hour + 60) // 120

    def minutes(self, service: str) -> int:
        preset = self.catalog.parts[service].preset
        assert preset is not None
        return preset.minutes

    # What mates -----------------------------------------------------------------------------------

    def connectors(self, owner: Placement | None):
        return self.has.loom.connectors if owner is None else self.part(owner).connectors

    def connector(self, node: Node):
        return self.connectors(node.owner)[node.connector]

    def nodes(self, build) -> list[Node]:
        owners = [None, *sorted(build)]
        return [Node(owner, name) for owner in owners for name in sorted(self.connectors(owner))]

    def place_of(self, node: Node) -> str | None:
        return self.connector(node).place or (node.owner.place if node.owner else None)

    def contacts(self, node: Node) -> dict[str, tuple[str, str]]:
        """Give direction and lane of each contact as this side sees it."""
        connector, seen = self.connector(node), {}
        turned = {"in": "out", "out": "in", "both": "both"}
        for key, text in self.catalog.contact_maps[connector.map].contacts.items():
            direction, lane = text.split(" ", 1)
            for contact in key.split("/"):
                seen[contact] = (turned[direction] if connector.mirrored else direction, lane)
        return seen

    def mate(self, one: Node, two: Node):
        return self._once(("mate", one, two), lambda: self._mate(one, two))

    def _mate(self, one: Node, two: Node) -> bool:
        first, second = self.connector(one), self.connector(two)
        maps = self.catalog.contact_maps
        if one.owner == two.owner or self.place_of(one) != self.place_of(two):
            return False
        if maps[first.map].type != maps[second.map].type:
            return False
        if first.gender == second.gender or first.paired != second.paired:
            return False
        mine, theirs = self.contacts(one), self.contacts(two)
        agree = {("in", "out"), ("out", "in"), ("both", "both")}
        return all(
            mine[contact][1] == theirs[contact][1] and (mine[contact][0], theirs[contact][0]) in agree
            for contact in mine.keys() & theirs.keys()
        )

    def links(self, owner: Placement | None):
        """Lead from each fed end to its feeding end, side by side."""
        return self._once(("links", owner), lambda: self._links(owner))

    def _links(self, owner: Placement | None) -> dict[End, End]:
        written = self.has.loom.links if owner is None else self.part(owner).links
        return {
            self._end(owner, fed, side): self._end(owner, feeding, side)
            for fed, feeding in written.items()
            for side in SIDES
        }

    def _end(self, owner: Placement | None, text: str, side: str) -> End:
        name, lane = text.split(".", 1)
        paired = self.connectors(owner)[name].paired
        return End(name, lane.replace("$side", side), side if paired else None)

    def sinks(self, placement: Placement) -> list[Sink]:
        if self.part(placement).speaker is None:
            return []
        sides = SIDES if self.catalog.places[placement.place].pair else ("single",)
        return [Sink(placement, side) for side in sides]

    def unknown_mate(self, one: Node, two: Node) -> bool:
        """Tell whether nobody knows if this mate can be made: a plug that may not be there, and that nobody has seen mated."""
        return any(
            self.connector(node).presence is not None and node.name not in self.seen_plugs
            for node in (one, two)
        )

    @cached_property
    def seen_plugs(self) -> frozenset[str]:
        """The plugs in a mate that somebody has seen, or that the wiring asked for has."""
        seen = {name for pair in self.found.wiring for name in pair}
        return frozenset(seen | {node.name for mate in self.now or () for node in mate})
