"""Placements of one catalog as numbers, in the orders in which lists have them."""

from __future__ import annotations

from rules.build import Placement
from rules.catalog.catalog import Catalog


class Ranks:
    """Numbers every part at every place of a catalog."""

    def __init__(self, catalog: Catalog) -> None:
        self._parts = {x: at for at, x in enumerate(sorted(catalog.parts))}
        self._places = {x: at for at, x in enumerate(sorted(catalog.places))}

    def by_part(self, placed: Placement) -> int:
        """Rank a placement by part, then by place: as placements compare."""
        return self._parts[placed.part] * len(self._places) + self._places[placed.place]

    def by_place(self, placed: Placement) -> int:
        """Rank a placement by place, then by part: as answers list them."""
        return self._places[placed.place] * len(self._parts) + self._parts[placed.part]
