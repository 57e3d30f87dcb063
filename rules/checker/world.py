"""One rider's bike as found, on which a plan is checked: what is known of it, and of the parts that may stand on it."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from pydantic import BaseModel

from rules.build import AsFound, Build, Placement, stock_placements
from rules.catalog.bike import BikeFacts, BikePlace
from rules.catalog.condition import Selector
from rules.catalog.facts import Unknown, Value
from rules.catalog.part import Part
from rules.catalog.rule import Provides
from rules.checker.index import Index, OnPart, Wires, wires_of
from rules.checker.three import Three
from rules.checker.when import Facts, is_met

LOOM = Placement("loom", "")
"""The owner of the bike's own plugs."""

_BY_ITS_NAME = ("family", "maker", "year", "trim", "mount", "cooling")


class World:
    """A bike as found, in a catalog."""

    def __init__(self, index: Index, bike: str, found: AsFound) -> None:
        self.index = index
        self.bike = index.catalog.bikes[bike]
        self.found = found
        self._own = {part.id: part for part in found.own_parts}
        self.has = _as_measured(self.bike.has, found)
        self.stock = stock_placements(self.bike.has.stock)
        self.present: Build = found.present(self.stock)
        self._wires: dict[Placement, Wires] = {}

    def part(self, placed: Placement) -> Part:
        """Give the part of a placement: of the rider's own, or of the catalog."""
        return self.part_named(placed.part)

    def part_named(self, name: str) -> Part:
        """Give a part by its id."""
        return self._own.get(name) or self.index.catalog.parts[name]

    def is_part(self, name: str) -> bool:
        """Tell whether there is such a part."""
        return name in self._own or name in self.index.catalog.parts

    def place(self, placed: Placement) -> BikePlace:
        """Give a placement's place, as this bike has it."""
        return self.has.places[placed.place]

    def slot(self, placed: Placement) -> tuple[str, str]:
        """Give the place and slot that a placement takes."""
        return placed.place, self.part(placed).slot or ""

    def may_stand(self, placed: Placement) -> bool:
        """Tell whether a part can be placed at a place; a rider's own part only where it was found."""
        if placed.part in self._own and placed not in self.present:
            return False
        part = self.part(placed)
        vocabulary = self.index.catalog.places.get(placed.place)
        return (
            placed.place in self.has.places
            and vocabulary is not None
            and part.slot in vocabulary.slots
            and (not part.at or placed.place in part.at)
        )

    # --- rules --------------------------------------------------------------------------------------------------

    def rules_on(self, placed: Placement) -> OnPart:
        """Give the rules that select a part; whether they mean its place, `means` tells."""
        return self.index.on_part(self.part(placed), own=placed.part in self._own)

    def means(self, selector: Selector, placed: Placement) -> bool:
        """Tell whether a selector means a placement."""
        if selector.at and placed.place not in selector.at:
            return False
        return self.index.selects(selector, self.part(placed))

    def is_beside(
        self, selector: Selector, placed: Placement, build: Build, *, same_place: bool = False
    ) -> bool:
        """Tell whether a placement other than this one is what a selector means (and in the same place)."""
        return any(
            other != placed
            and (not same_place or other.place == placed.place)
            and self.means(selector, other)
            for other in build
        )

    # --- facts --------------------------------------------------------------------------------------------------

    def fact_of(self, placed: Placement) -> Facts:
        """Give the lookup of facts for conditions about a placement."""
        return lambda name: self.fact(name, placed)

    def fact(self, name: str, placed: Placement) -> Value | None:
        """Give a fact by the name that rules use; None if nobody knows it."""
        of, _, key = name.partition(".")
        if of == "bike":
            return self.bike_fact(key)
        if of == "place":
            place = self.has.places.get(placed.place)
            return _known(place.geometry.get(key)) if place else None
        return self.part_fact(placed, key)

    def bike_fact(self, key: str) -> Value | None:
        """Give a fact of the bike itself."""
        if key in _BY_ITS_NAME:
            return _known(getattr(self.bike, key))
        return _known(self.has.facts.get(key))

    def part_fact(self, placed: Placement, key: str) -> Value | None:
        """Give a fact of a part: one of its spec, one of its figures, or what it is."""
        part = self.part(placed)
        if key in part.spec:
            return _known(part.spec[key])
        for figures in (part.speaker, part.supply, part.cable):
            if figures is not None and key in type(figures).model_fields:
                return _known(getattr(figures, key))
        if key == "line":
            return self.index.line(part)
        return _known(getattr(part, key)) if key in ("id", "kind", "colour", "mass_kg") else None

    # --- wires --------------------------------------------------------------------------------------------------

    def wires(self, owner: Placement) -> Wires:
        """Give the wires inside a placed part, or the bike's own."""
        if owner not in self._wires:
            is_own = owner.part in self._own
            inside = self._loom if owner == LOOM else self.index.wires(self.part(owner), own=is_own)
            self._wires[owner] = inside
        return self._wires[owner]

    @cached_property
    def _loom(self) -> Wires:
        there = {
            name: connector
            for name, connector in self.has.loom.connectors.items()
            if self._is_there(name) is not False
        }
        return wires_of(there, self.has.loom.links)

    def is_sure(self, plug: str) -> bool:
        """Tell whether one of the bike's own plugs is known to be there: recorded, or by a measured fact."""
        return self._loom.connectors[plug].presence is None or self._is_there(plug) is True

    def _is_there(self, plug: str) -> Three:
        """Decide by what was measured whether rules provide a plug that may or may not be there."""
        if self.has.loom.connectors[plug].presence is None:
            return True
        if not self.found.measured:
            return None
        provided = [rule for rule in self.index.rules(Provides) if plug in rule.connector]
        answers = [is_met(rule.when, lambda name: self.fact(name, LOOM), _nothing) for rule in provided]
        return next((answer for answer in answers if answer is not None), None)


def _nothing(_: object) -> None:
    """Of what is fitted, nothing is said."""


def known(value: Any) -> Any:  # noqa: ANN401 - a figure of any type, or none
    """Give a recorded value, or None where nobody knows it."""
    return None if isinstance(value, Unknown) else value


def _known(value: Value | Unknown | None) -> Value | None:
    return None if isinstance(value, Unknown) else value


# --- measured on this bike --------------------------------------------------------------------------------------


def _as_measured(has: BikeFacts, found: AsFound) -> BikeFacts:
    """Replace facts by what was measured, by dotted path."""
    for measured in found.measured:
        has = _replaced(has, measured.path.split("."), measured.value)
    return has


def _replaced(tree: Any, steps: list[str], value: object) -> Any:  # noqa: ANN401 - a model, or a mapping in it
    step, *rest = steps
    if rest == ["presence"] and value is False:
        return {name: inner for name, inner in tree.items() if name != step}
    if rest:
        value = _replaced(_inner(tree, step), rest, value)
    elif step == "presence":
        value = None
    if isinstance(tree, BaseModel):
        return tree.model_copy(update={step: value})
    return {**tree, step: value}


def _inner(tree: BaseModel | Mapping[str, object], step: str) -> object:
    return getattr(tree, step) if isinstance(tree, BaseModel) else tree[step]
