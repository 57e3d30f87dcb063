"""Placements of one catalog as numbers, in the orders in which lists have them."""

from __future__ import annotations

from itertools import count

from rules.build import Placement
from rules.catalog.catalog import Catalog


class CartLine:
    """What a line of a cart asks for; the same object each time for one catalog, as `Ranks.line` has it.

    Attributes:
        number: Counts what is asked for of a catalog.
        told: How an answer begins to tell of it, up to what is found, left here by whoever writes; empty where carts differ.
        ends: Likewise what comes before and after where it goes.
    """

    __slots__ = ("ends", "number", "part", "place", "told")

    def __init__(self, number: int, part: str, place: str | None) -> None:
        self.number = number
        self.part = part
        self.place = place
        self.told = b""
        self.ends = b"", b""


class Ranks:
    """Numbers every part at every place of a catalog, and keeps what lines of carts ask for.

    A number is the same object each time, and so is found where it is kept without being compared; so is what a line asks for.
    """

    def __init__(self, catalog: Catalog) -> None:
        self._parts = {x: at for at, x in enumerate(sorted(catalog.parts))}
        self._places = {x: at for at, x in enumerate(sorted(catalog.places))}
        self._by_part: dict[Placement, int] = {}
        self._by_place: dict[Placement, int] = {}
        self._lines: dict[tuple[str, str | None], CartLine] = {}
        self._numbers = count()

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

    def line(self, part: str, place: str | None) -> CartLine:
        """Give what a line of a cart asks for: a part, at a place if it is for one.

        Raises: `KeyError` where the catalog has no such part or place.
        """
        known = self._lines.get((part, place))
        if known is None:
            if part not in self._parts or (place is not None and place not in self._places):
                raise KeyError(part, place)
            known = CartLine(next(self._numbers), part, place)
        return self._lines.setdefault((part, place), known)
