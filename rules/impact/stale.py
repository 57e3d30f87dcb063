"""Which answers that somebody keeps from an older release may no longer be those of a newer one: never too few.

An impact says what changed, by asking. This asks nothing, and looks at names as well: an answer counts as stale if anything
that decides its verdict, its place, its extras and its money is not the same, or what these are called. Sentences of a
finding may name any part that could help besides; they are not followed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from rules.build import Placement, stock_placements
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.rule import Hold
from rules.impact.asked import sides
from rules.impact.reach import Needs, Reach
from rules.impact.touch import priced, touched
from rules.tables import Tables, rules_of_kind

Standing = Literal["new", "gone", "every_part", "some_parts"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stale:
    """What may be stale of what is kept about one bike: the bike is new or gone, or every part is, or some are."""

    bike: str
    standing: Standing
    parts: tuple[str, ...] = ()


class Staleness:
    """Compares what was answered from one catalog on a day with what another answers on a day, bike by bike.

    Args:
        before: The day that the kept answers are for.
        on: The day that answers are wanted for.
    """

    def __init__(self, old: Tables, new: Tables, before: date, on: date) -> None:
        self.old, self.new = old.catalog, new.catalog
        what = touched(old, new, (on,))
        self._everything = what.everything or _differ_throughout(self.old, self.new)
        dated = _changed_by_day(old, before, on)
        self._touched = frozenset[str]().union(*what.parts.values(), dated)
        self._reach = Reach(Needs(old), Needs(new))
        self._seeds = self._placements_touched()
        self._by_places: dict[frozenset[str], tuple[str, ...]] = {}

    def bikes(self) -> Iterator[Stale]:
        """Give every bike, or name that stands for several, of which something may be stale, in order of id."""
        names = [catalog.bikes.keys() | catalog.ambiguous.keys() for catalog in (self.old, self.new)]
        for name in sorted(names[0] | names[1]):
            if name not in names[0] or name not in names[1]:
                yield Stale(bike=name, standing="gone" if name in names[0] else "new")
            elif self._is_stale_throughout(name):
                yield Stale(bike=name, standing="every_part")
            elif parts := self._parts_on(name):
                yield Stale(bike=name, standing="some_parts", parts=parts)

    def _is_stale_throughout(self, name: str) -> bool:
        bikes = [sides(catalog, name) for catalog in (self.old, self.new)]
        if self._everything or bikes[0] != bikes[1] or self._ask(self.old, name) != self._ask(self.new, name):
            return True
        return any(self._is_another(self.old.bikes[bike], self.new.bikes[bike]) for bike in bikes[0])

    def _is_another(self, old: Bike, new: Bike) -> bool:
        # What is on the bike is in every build on it.
        present = {placed.part for placed in stock_placements(old.has.stock)}
        return _as_told(old) != _as_told(new) or not present.isdisjoint(self._touched)

    def _parts_on(self, name: str) -> tuple[str, ...]:
        found: set[str] = set()
        for bike in sides(self.new, name):
            places = frozenset(self.new.bikes[bike].has.places)
            if places not in self._by_places:
                self._by_places[places] = self._parts_at(places)
            found.update(self._by_places[places])
        return tuple(sorted(found))

    def _parts_at(self, places: frozenset[str]) -> tuple[str, ...]:
        reached = self._reach.of(frozenset(x for x in self._seeds if x.place in places))
        named = {x.part for x in reached} | self._touched
        return tuple(x for x in named if _has_slot(self.old, x) or _has_slot(self.new, x))

    def _placements_touched(self) -> frozenset[Placement]:
        return frozenset(
            placed
            for needs in self._reach.needs
            for part in self._touched
            for placed in needs.of_part.get(part, ())
        )

    @staticmethod
    def _ask(catalog: Catalog, name: str) -> str:
        return catalog.ambiguous[name].ask if name in catalog.ambiguous else ""


def _differ_throughout(old: Catalog, new: Catalog) -> bool:
    """Tell whether what every answer tells of differs: the shop's money, or the words that plugs are described in."""
    return old.shop != new.shop or old.connector_types != new.connector_types


def _as_told(bike: Bike) -> Bike:
    """Give a bike without where in the files it was written: answers tell sources and years, never lines."""
    origins = {path: replace(x, file="", line=0, column=0) for path, x in bike.origins.items()}
    return replace(bike, origins=origins)


def _has_slot(catalog: Catalog, part: str) -> bool:
    return part in catalog.parts and catalog.parts[part].slot is not None


def _changed_by_day(tables: Tables, before: date, on: date) -> set[str]:
    """Give the parts of which something changes between two days in the same catalog: prices, holds, availability."""
    catalog = tables.catalog
    found = priced((catalog, before), (catalog, on))
    found |= {
        x.id
        for x in catalog.parts.values()
        if x.available is not None and x.available.holds(before) != x.available.holds(on)
    }
    for hold in rules_of_kind(catalog, Hold):
        if _is_in_force(hold, before) != _is_in_force(hold, on):
            found |= tables.selected(hold.subject)
    return found


def _is_in_force(hold: Hold, day: date) -> bool:
    return hold.first <= day and (hold.last is None or day <= hold.last)
