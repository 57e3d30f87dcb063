"""Everything that could be placed on a bike, whether it fits or not, by slot, tag and plug.

Bikes with the same places could take the same parts, so they share it: a large catalog has hundreds of bikes, and tens of
thousands of placements on each.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from typing import TYPE_CHECKING

from rules.build import Build, Placement
from rules.catalog.condition import Selector
from rules.judged import Judged
from rules.likeness import Likeness
from rules.mating import Face, faces_mate

if TYPE_CHECKING:
    from rules.tables import Tables

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
        slots = {place: tables.catalog.places[place].slots for place in sorted(places)}
        placements = (
            Placement(part.id, place)
            for part in tables.catalog.parts.values()
            for place, there in slots.items()
            if part.slot in there and (not part.at or place in part.at)
        )
        self.placements = frozenset(x for x in placements if x.part not in own or x in present)
        self._candidates: dict[tuple[Selector, str | None], frozenset[Placement]] = {}
        self._mateable: dict[tuple[str, Face], frozenset[Placement]] = {}
        self._judged: dict[str, Judged] = {}
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
                for placed in self._by_part.get(part, ())
                if place in (None, placed.place) and self._tables.selects(selector, placed)
            )
        return self._candidates[key]

    def in_slot(self, place: str, slot: str) -> frozenset[Placement]:
        """Give all that could be placed in a slot."""
        return self._slots.get((place, slot), NONE)

    def with_tag(self, place: str, tag: str) -> frozenset[Placement]:
        """Give all that could be placed in a place and has a tag."""
        return self._tags.get((place, tag), NONE)

    def with_plugs(self, place: str, plugs: str) -> frozenset[Placement]:
        """Give all whose plugs no wiring can tell apart: `plugs` is what `Tables.kin` has of one."""
        return self._kin.get((place, plugs), NONE)

    def mateable(self, place: str, face: Face) -> frozenset[Placement]:
        """Give all that could bring a connector which mates with this face in this place."""
        key = (place, face)
        if key not in self._mateable:
            self._mateable[key] = frozenset(
                placed
                for (at, other), owners in self._faces.items()
                if at == place and faces_mate(face, other)
                for placed in owners
            )
        return self._mateable[key]

    def of_part(self, part: str) -> Iterable[Placement]:
        """Give every place where a part could be placed."""
        return self._by_part.get(part, ())

    @cached_property
    def _by_part(self) -> dict[str, list[Placement]]:
        found: dict[str, list[Placement]] = {}
        for placed in self.placements:
            found.setdefault(placed.part, []).append(placed)
        return found

    @cached_property
    def _slots(self) -> dict[tuple[str, str], frozenset[Placement]]:
        slots: dict[tuple[str, str], set[Placement]] = {}
        for placed in self.placements:
            slots.setdefault((placed.place, self._tables.catalog.parts[placed.part].slot or ""), set()).add(
                placed
            )
        return {key: frozenset(found) for key, found in slots.items()}

    @cached_property
    def _tags(self) -> dict[tuple[str, str], frozenset[Placement]]:
        tags: dict[tuple[str, str], set[Placement]] = {}
        for placed in self.placements:
            for tag in self._tables.catalog.parts[placed.part].tags:
                tags.setdefault((placed.place, tag), set()).add(placed)
        return {key: frozenset(found) for key, found in tags.items()}

    @cached_property
    def _kin(self) -> dict[tuple[str, str], frozenset[Placement]]:
        kin: dict[tuple[str, str], set[Placement]] = {}
        for placed in self.placements:
            kin.setdefault((placed.place, self._tables.kin[placed.part]), set()).add(placed)
        return {key: frozenset(found) for key, found in kin.items()}

    @cached_property
    def _faces(self) -> dict[tuple[str, Face], frozenset[Placement]]:
        faces: dict[tuple[str, Face], set[Placement]] = {}
        for placed in self.placements:
            wires = self._tables.wires[placed.part]
            for name, connector in wires.connectors.items():
                faces.setdefault((connector.place or placed.place, wires.faces[name]), set()).add(placed)
        return {key: frozenset(found) for key, found in faces.items()}
