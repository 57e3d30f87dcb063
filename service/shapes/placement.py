"""Parts at places, as they are asked and answered."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from rules.build import Placement
from rules.catalog.catalog import Catalog
from service.shapes.base import Asked, Id, Told


class PlacementAsked(Asked):
    """A part at a place."""

    part: Id
    place: Id

    def to_domain(self) -> Placement:
        """Read it."""
        return Placement(self.part, self.place)


class PlacementTold(Told):
    """A part at a place, with their names for people."""

    part: str
    name: str
    place: str
    place_name: str

    @classmethod
    def from_domain(cls, placement: Placement, catalog: Catalog) -> Self:
        """Write it."""
        part, place = catalog.parts.get(placement.part), catalog.places.get(placement.place)
        return cls(
            part=placement.part,
            name=part.name if part else placement.part,
            place=placement.place,
            place_name=place.name if place else placement.place,
        )


def read_placement(text: str) -> Placement:
    """Read a placement as it is written, `part@place`."""
    part, _, place = text.partition("@")
    return Placement(part, place)


def placements_told(placements: Iterable[Placement], catalog: Catalog) -> tuple[PlacementTold, ...]:
    """Write several, in order of place and part."""
    ordered = sorted(placements, key=lambda placement: (placement.place, placement.part))
    return tuple(PlacementTold.from_domain(placement, catalog) for placement in ordered)
