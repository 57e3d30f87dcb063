"""Bike families as they are written in the catalog: trims, splits, and dated entries that hold only what changed."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rules.catalog.connector import Connector
from rules.catalog.entry import Day, Entry, Flag, Id, NotNegative, Text
from rules.catalog.facts import Fact, Source, Unknown, Years


class Enclosure(Entry):
    """The air behind a speaker [litres], and whether the box is closed."""

    volume_l: NotNegative | Unknown
    tuning: Literal["sealed", "ported", "open"] | Unknown


class BikePlace(Entry):
    """One place as one bike has it.

    `geometry` holds facts with their unit in the key. `carrier_needed`: nothing can be fitted here before a part in slot
    `carrier` is. `max_mass_kg` limits the sum of all parts in the place.
    """

    geometry: dict[Id, Fact] = Field(default_factory=dict)
    carrier_needed: Flag | Unknown = False
    enclosure: Enclosure | None = None
    max_mass_kg: NotNegative | Unknown | None = None


class Loom(Entry):
    """The bike's own wiring: its connectors, and which lane leads to which inside it.

    `links` maps the fed end to the feeding end, `CONNECTOR.LANE: CONNECTOR.LANE`; `$side` in a lane stands for left and right.
    """

    connectors: dict[Id, Connector] = Field(default_factory=dict)
    links: dict[str, str] = Field(default_factory=dict)


class BikeFacts(Entry):
    """Everything known of one bike after inheritance: facts, places, loom, and the parts it left the works with.

    `stock` maps `PLACE.SLOT` to a part id. `mass_limits` maps a group's name to its places and limit.
    """

    facts: dict[Id, Fact] = Field(default_factory=dict)
    places: dict[Id, BikePlace] = Field(default_factory=dict)
    loom: Loom = Field(default_factory=Loom)
    stock: dict[str, Id] = Field(default_factory=dict)


class Trim(Entry):
    """A trim and the model years in which it was sold."""

    id: Id
    name: Text
    years: Years


class SplitSide(Entry):
    """One side of a split: a market, an engine option, or a range of production dates."""

    id: Id
    name: Text
    built_from: Day | None = None
    built_through: Day | None = None


class Split(Entry):
    """A running change: the trims and years in which one bike name stands for two or more that differ."""

    years: Years
    trims: tuple[Id, ...]
    by: Literal["production", "market", "engine"]
    sides: tuple[SplitSide, ...] = Field(min_length=2)
    ask: Text


class FamilyEntry(Entry):
    """What changed in a span of model years. Values not given are inherited from the entry before.

    `all` applies to every trim, `trims` and `splits` to the named ones, in this order. A key set to `absent` is removed.
    These three are trees of the shape of `BikeFacts`; they are checked after merging.
    """

    years: Years
    source: Source
    all: dict[str, object] = Field(default_factory=dict)
    trims: dict[Id, dict[str, object]] = Field(default_factory=dict)
    splits: dict[Id, dict[str, object]] = Field(default_factory=dict)


class Family(Entry):
    """One bike family: a file in bikes/."""

    family: Id
    maker: Text
    name: Text
    mount: Literal["frame", "fork"]
    cooling: Literal["air", "liquid"]
    trims: tuple[Trim, ...] = Field(min_length=1)
    splits: tuple[Split, ...] = ()
    entries: tuple[FamilyEntry, ...] = Field(min_length=1)
