"""Placements, builds, and one rider's bike as it was found."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple

from rules.catalog.facts import Unknown, Value
from rules.catalog.part import Part


class Placement(NamedTuple):
    """A part at a place, written `part@place`."""

    part: str
    place: str

    def __str__(self) -> str:
        return f"{self.part}@{self.place}"


Build = frozenset[Placement]

Slot = tuple[str, str]
"""A place and a slot there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerEntry:
    """What a rider paid for a part, when, and who fitted it. Money in minor units; None where nobody knows."""

    placement: Placement
    paid: int | None = None
    fitted_on: date | None = None
    fitter: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A fact measured on this rider's bike: it replaces the bike's fact at the dotted path."""

    path: str
    value: Value | Unknown
    by: str = ""
    on: date | None = None
    photo: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AsFound:
    """What is known of one rider's own bike beyond its model.

    `presets` names the amplifiers whose preset is in force. `unknown_work` names places where somebody did something that
    nobody recorded, `wiring` mated plugs that somebody has seen, as `PART@PLACE:CONNECTOR` or `loom:CONNECTOR`. `own_parts`
    describes parts that the catalog does not know; where they are, `fitted` says.
    """

    fitted: tuple[LedgerEntry, ...] = ()
    removed: Collection[Placement] = ()
    presets: Collection[str] = ()
    unknown_work: frozenset[str] = field(default_factory=frozenset)
    measured: tuple[Measured, ...] = ()
    wiring: frozenset[tuple[str, str]] = field(default_factory=frozenset)
    own_parts: tuple[Part, ...] = ()

    def present(self, stock: Iterable[Placement]) -> Build:
        """Give the placements on the bike now: stock, less what is gone, plus what was fitted."""
        return frozenset(stock).difference(self.removed) | {entry.placement for entry in self.fitted}


STOCK = AsFound()
"""A bike as it left the works."""


def stock_placements(stock: Mapping[str, str]) -> Build:
    """Read `PLACE.SLOT: PART` into placements."""
    return frozenset(Placement(part, key.split(".", 1)[0]) for key, part in stock.items())
