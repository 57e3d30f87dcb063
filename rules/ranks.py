"""Placements of one catalog as numbers, in the orders in which lists have them."""

from __future__ import annotations

from rules.build import Placement
from rules.catalog.catalog import Catalog


class Ranks:
    """Numbers every part at every place of a catalog, and every line of a cart.

    A number is the same object each time, and so is found where it is kept without being compared.
    """

    def __init__(self, catalog: Catalog) -> None:
        self._parts = {x: at for at, x in enumerate(sorted(catalog.parts))}
        self._places = {x: at for at, x in enumerate(sorted(catalog.places))}
        self._names, self._asked_for = [*self._parts], [None, *self._places]
        self._by_part: dict[Placement, int] = {}
        self._lines: dict[tuple[str, str | None], int] = {}

    def by_part(self, placed: Placement) -> int:
        """Rank a placement by part, then by place: as placements compare."""
        rank = self._by_part.get(placed)
        if rank is None:
            rank = self._parts[placed.part] * len(self._places) + self._places[placed.place]
        return self._by_part.setdefault(placed, rank)

    def by_place(self, placed: Placement) -> int:
        """Rank a placement by place, then by part: as answers list them."""
        return self._places[placed.place] * len(self._parts) + self._parts[placed.part]

    def line(self, part: str, place: str | None) -> int:
        """Number a line of a cart: a part, and the place that it is asked for, if it is for one.

        Raises: `KeyError` where the catalog has no such part or place.
        """
        number = self._lines.get((part, place))
        if number is None:
            at = 0 if place is None else self._places[place] + 1
            number = self._parts[part] * len(self._asked_for) + at
        return self._lines.setdefault((part, place), number)

    def asked(self, line: int) -> tuple[str, str | None]:
        """Give the part and the place of a line."""
        part, place = divmod(line, len(self._asked_for))
        return self._names[part], self._asked_for[place]
