"""Everything that could be placed on a bike, whether it fits or not, by slot, tag and plug.

Bikes with the same places could take the same parts, so they share it: a large catalog has hundreds of bikes, and tens of
thousands of placements on each.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import TYPE_CHECKING
from weakref import WeakValueDictionary

from rules.build import Build, Placement
from rules.catalog.condition import Selector
from rules.judged import Judged
from rules.likeness import Likeness
from rules.mating import Face

if TYPE_CHECKING:
    from rules.tables import Plugs, Tables

NONE: frozenset[Placement] = frozenset()


class Universe:
    """All placements at some places. What is worked out of it once is kept.

    Args:
        tables: The compiled catalog.
        places: The places that a bike has.
        own: A rider's own parts: they are where they were found, or nowhere.
        present: What is on the bike, where it has own parts.
    """

    def __init__(
        self,
        tables: Tables,
        places: Iterable[str],
        own: frozenset[str] = frozenset(),
        present: Build = frozenset(),
    ) -> None:
        self._tables = tables
        self._slots_at = {place: tables.catalog.places[place].slots for place in sorted(places)}
        self._own, self._present = own, present
        self.placements = frozenset(x for part in tables.catalog.parts for x in self.of_part(part))
        self._candidates: dict[tuple[Selector, str | None], frozenset[Placement]] = {}
        self._mateable: dict[tuple[str, Face], frozenset[Placement]] = {}
        self._kin: dict[tuple[str, str], dict[Plugs, frozenset[Placement]]] = {}
        # As long as the desk of any such bike is kept.
        self._judged: WeakValueDictionary[str, Judged] = WeakValueDictionary()
        self.likeness = Likeness(tables)
        self.reliefs: dict[object, tuple[Placement, ...]] = {}

    def judged(self, loom: str) -> Judged:
        """Give what was found out about builds on bikes with these plugs, which are told apart by a text."""
        return self._judged.setdefault(loom, Judged())

    def candidates(self, selector: Selector, place: str | None) -> frozenset[Placement]:
        """Give what a selector selects (at one place)."""
        key = (selector, place)
        if key not in self._candidates:
            self._candidates[key] = frozenset(
                placed
                for part in self._tables.selected(selector)
                for placed in self.of_part(part)
                if place in (None, placed.place) and (not selector.at or placed.place in selector.at)
            )
        return self._candidates[key]

    def in_slot(self, place: str, slot: str) -> frozenset[Placement]:
        """Give all that could be placed in a slot."""
        return self._slots.get((place, slot), NONE)

    def with_tag(self, place: str, tag: str) -> frozenset[Placement]:
        """Give all that could be placed in a place and has a tag."""
        return self.candidates(Selector(tag=tag), place)

    def with_plugs(self, place: str, slot: str, plugs: Plugs) -> frozenset[Placement]:
        """Give all in a slot whose plugs no wiring can tell apart: `plugs` is what `Tables.kin` has of one."""
        if (place, slot) not in self._kin:
            self._kin[place, slot] = self._by_plugs(place, slot)
        return self._kin[place, slot].get(plugs, NONE)

    def mateable(self, place: str, face: Face) -> frozenset[Placement]:
        """Give all that could bring a connector which mates with this face in this place."""
        key = (place, face)
        if key not in self._mateable:
            self._mateable[key] = frozenset(self._facing(place, face))
        return self._mateable[key]

    def _facing(self, place: str, face: Face) -> Iterator[Placement]:
        tables = self._tables
        for facing in tables.mates.mates(tables.mates.number(face)):
            for part, lies in tables.ends(facing):
                yield from (x for x in self.of_part(part) if (lies or x.place) == place)

    def of_part(self, name: str) -> Iterator[Placement]:
        """Give every place where a part could be placed; none for a part that the catalog has not."""
        part = self._tables.catalog.parts.get(name)
        for place, slots in self._slots_at.items() if part else ():
            if part and part.slot in slots and (not part.at or place in part.at):
                placed = Placement(name, place)
                if name not in self._own or placed in self._present:
                    yield placed

    @cached_property
    def _slots(self) -> dict[tuple[str, str], frozenset[Placement]]:
        slots: dict[tuple[str, str], set[Placement]] = {}
        for placed in self.placements:
            slots.setdefault((placed.place, self._tables.catalog.parts[placed.part].slot or ""), set()).add(
                placed
            )
        return {key: frozenset(found) for key, found in slots.items()}

    def _by_plugs(self, place: str, slot: str) -> dict[Plugs, frozenset[Placement]]:
        kin: dict[Plugs, list[Placement]] = {}
        for placed in self.in_slot(place, slot):
            kin.setdefault(self._tables.kin[placed.part], []).append(placed)
        return {plugs: frozenset(found) for plugs, found in kin.items()}
