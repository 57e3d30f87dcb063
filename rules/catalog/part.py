"""Parts: everything that is sold, fitted, or was fitted at the works."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from rules.catalog.connector import Connector
from rules.catalog.entry import Entry, Flag, Id, NotNegative, Positive, Text, Whole
from rules.catalog.facts import DateSpan, Fact, Source, Unknown

Kind = Literal[
    "head_unit",
    "bezel",
    "antenna_lead",
    "control_interface",
    "microphone",
    "amplifier",
    "speaker",
    "carrier",
    "ring",
    "grille",
    "harness",
    "adapter",
    "power_kit",
    "deadening",
    "hardware",
    "flash",
    "preset",
    "bundle",
]

OwnKind = Literal[
    "head_unit",
    "bezel",
    "antenna_lead",
    "control_interface",
    "microphone",
    "amplifier",
    "speaker",
    "carrier",
    "ring",
    "grille",
    "harness",
    "adapter",
    "power_kit",
    "deadening",
    "hardware",
    "flash",
]
"""Kinds that have a slot: a rider's own part is on the bike, and never sold."""

RUN_KINDS: frozenset[str] = frozenset({"harness", "power_kit"})
"""Kinds that are run through the bike: taking one out again, or another in its stead, is rewiring."""


class Channel(Entry):
    """One output of an amplifier or head unit.

    `output` is the connector and lane it leaves by. `watts` maps a rated impedance [ohm, written as text] to continuous
    power [W]. `min_ohm` is the lowest impedance it may drive. `needs` names a tag of a flash without which it is silent.
    `bridges` names the channels that it is made of when bridged: it is used instead of them.
    """

    id: Id
    output: Text
    watts: dict[str, Positive] | Unknown
    min_ohm: Positive | Unknown
    needs: Id | None = None
    bridges: tuple[Id, ...] = ()


class Speaker(Entry):
    """A pair of like speakers. Impedance and continuous power are of one speaker."""

    impedance_ohm: Positive | Unknown
    rms_w: Positive | Unknown


class AmplifierSupply(Entry):
    """What an amplifier draws: its maker's fuse, full-output and idle current [A], and efficiency [0..1] at one-third power."""

    fuse_a: Positive | Unknown
    full_a: Positive | Unknown
    idle_a: NotNegative | Unknown
    efficiency: Positive | Unknown


class Cable(Entry):
    """A power lead: conductor [mm2], length one way [m], ampacity derated for the engine space [A], the fuses in the bag [A]."""

    area_mm2: Positive | Unknown
    length_m: Positive | Unknown
    ampacity_a: Positive | Unknown
    fuses_a: tuple[Positive, ...]


class PresetService(Entry):
    """A preset made in the workshop for one chain: the amplifiers it serves, minutes at the bench, days off the road by post."""

    amplifiers: tuple[Id, ...] = Field(min_length=1)
    minutes: Whole
    days: Whole


class Part(Entry):
    """One part. A speaker part is a pair; every part counts once.

    `at` lists the places it may go to; left out, any place that has its slot. `rewires`: fitting it cuts, splices or
    re-pins a conductor. `host` lists the parts one of which must be in the same place for this one to exist (a flash lives in
    its head unit). `spec` holds facts with the unit in the key.
    """

    id: Id
    name: Text
    kind: Kind
    slot: Id | None = None
    at: tuple[Id, ...] = ()
    tags: tuple[Id, ...] = ()
    spec: dict[Id, Fact] = Field(default_factory=dict)
    mass_kg: NotNegative | Unknown = 0.0
    connectors: dict[Id, Connector] = Field(default_factory=dict)
    links: dict[str, str] = Field(default_factory=dict)
    channels: tuple[Channel, ...] = ()
    speaker: Speaker | None = None
    supply: AmplifierSupply | None = None
    cable: Cable | None = None
    preset: PresetService | None = None
    members: tuple[Id, ...] = ()
    host: tuple[Id, ...] = ()
    rewires: Flag = False
    colour: Id | None = None
    lead_days: Whole = 0
    warranty_months: Whole | None = None
    available: DateSpan | None = None
    stock_only: Flag = False
    source: Source


class OwnPart(Part):
    """A part on a rider's bike that the catalog does not know, described as parts are; its mass is unknown if left out."""

    kind: OwnKind
    mass_kg: NotNegative | Unknown = Unknown(unknown="weigh it")


class PartLine(Entry):
    """One line of parts: a file in parts/."""

    line: Id
    maker: Text
    name: Text
    parts: tuple[Part, ...] = Field(min_length=1)
