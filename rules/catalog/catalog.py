"""The whole catalog after reading and inheritance: what the graph, the evaluator and the planner are built from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from rules.catalog.bike import BikeFacts, SplitSide
from rules.catalog.case import Case
from rules.catalog.connector import ConnectorType, ContactMap
from rules.catalog.facts import Source, YearSpan
from rules.catalog.part import Part
from rules.catalog.place import Place
from rules.catalog.price import PriceList
from rules.catalog.rule import Rule
from rules.catalog.shop import Shop


@dataclass(frozen=True, slots=True, kw_only=True)
class Origin:
    """Where a bike's fact was written: the entry's source and span, and its position in the files (for catalog users only)."""

    source: Source
    years: YearSpan
    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bike:
    """One variant: family x model year x trim, with the side of a split where one name stands for two.

    `origins` maps the dotted path of each leaf in `has` (`places.rear_pods.geometry.depth_mm`) to where it was written.
    """

    id: str
    family: str
    family_name: str
    maker: str
    year: int
    trim: str
    trim_name: str
    mount: str
    cooling: str
    split: SplitSide | None
    has: BikeFacts
    origins: Mapping[str, Origin]

    @property
    def name(self) -> str:
        """The bike in words, without its year."""
        side = f", {self.split.name}" if self.split else ""
        return f"{self.family_name} {self.trim_name}{side}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguous:
    """A bike name that stands for two or more bikes at a split, and what to ask the rider."""

    id: str
    sides: tuple[str, ...]
    ask: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Position:
    """A place in a catalog file: lines and columns count from 1."""

    file: str
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Catalog:
    """Everything that was read. Mappings are sorted by id.

    `positions` maps `part:ID`, `rule:ID`, `bike:FAMILY`, `case:NAME` to where it was written; it has no part in the release id.
    `lines` maps a part id to its line id, `makers` to its maker. `drafts` are cases of which nobody has written why yet.
    """

    shop: Shop
    places: Mapping[str, Place]
    connector_types: Mapping[str, ConnectorType]
    contact_maps: Mapping[str, ContactMap]
    bikes: Mapping[str, Bike]
    ambiguous: Mapping[str, Ambiguous]
    parts: Mapping[str, Part]
    lines: Mapping[str, str]
    makers: Mapping[str, str]
    rules: Mapping[str, Rule]
    topics: Mapping[str, str]
    price_lists: tuple[PriceList, ...]
    cases: tuple[Case, ...]
    positions: Mapping[str, Position]
    drafts: tuple[Case, ...] = ()
