"""Placements of one catalog as numbers, in the orders in which lists have them."""

from __future__ import annotations

from threading import Lock
from typing import NamedTuple

from rules.build import Placement
from rules.catalog.catalog import Catalog


class CartLine(NamedTuple):
    """What a line of a cart asks for: a part, at a place if it names one."""

    part: str
    place: str | None


class Ranks:
    """Numbers every part at every place of a catalog, and what lines of carts ask for.

    A number is the same object each time, and so is found where it is kept without being compared.

    Attributes:
        lines: What was asked for, by its number.
        anywhere: The numbers of those that name no place.
    """

    def __init__(self, catalog: Catalog) -> None:
        self._parts = {x: at for at, x in enumerate(sorted(catalog.parts))}
        self._places = {x: at for at, x in enumerate(sorted(catalog.places))}
        self._by_part: dict[Placement, int] = {}
        self._by_place: dict[Placement, int] = {}
        self.lines: list[CartLine] = []
        self.anywhere: set[int] = set()
        self._numbers: dict[CartLine, int] = {}
        self._numbering = Lock()

    def by_part(self, placed: Placement) -> int:
        """Rank a placement by part, then by place: as placements compare."""
        rank = self._by_part.get(placed)
        if rank is None:
            rank = self._parts[placed.part] * len(self._places) + self._places[placed.place]
        return self._by_part.setdefault(placed, rank)

    def by_place(self, placed: Placement) -> int:
        """Rank a placement by place, then by part: as answers list them."""
        rank = self._by_place.get(placed)
        if rank is None:
            rank = self._places[placed.place] * len(self._parts) + self._parts[placed.part]
        return self._by_place.setdefault(placed, rank)

    def number(self, line: CartLine) -> int:
        """Number what a line of a cart asks for.

        Raises: `KeyError` where the catalog has no such part or place.
        """
        if line not in self._numbers:
            if line.part not in self._parts or (line.place is not None and line.place not in self._places):
                raise KeyError(line)
            with self._numbering:
                self._give_number(line)
        return self._numbers[line]

    def _give_number(self, line: CartLine) -> None:
        if line in self._numbers:
            return
        number = len(self.lines)
        self.lines.append(line)
        if line.place is None:
            self.anywhere.add(number)
        # Last: whoever finds the number finds the rest.
        self._numbers[line] = number
