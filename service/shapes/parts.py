"""Parts: the list, and one part with its figures, plugs and channels."""

from __future__ import annotations

from typing import Self

from pydantic import Field

from rules.catalog.catalog import Catalog
from rules.catalog.facts import Fact, Source, Unknown
from rules.catalog.part import Channel, Kind, Part
from service.serving import Serving
from service.shapes.base import Told
from service.shapes.bikes import ConnectorTold, connectors_told
from service.shapes.fact import DateSpanTold, FactTold, SourceTold
from service.shapes.page import Page, PageAsked, PageTold
from service.shapes.release import ReleaseNamed


class PartsAsked(PageAsked):
    """Which parts to list."""

    kind: Kind | None = Field(default=None, description="Kind of part.")
    line: str | None = Field(default=None, max_length=80, description="Id of a part line.")
    maker: str | None = Field(default=None, max_length=80, description="The maker's name.")
    slot: str | None = Field(default=None, max_length=80, description="Slot that it goes into.")

    def selects(self, part: Part, catalog: Catalog) -> bool:
        """Tell whether every filter that is given holds."""
        wanted = (self.kind, self.line, self.maker, self.slot)
        has = (part.kind, catalog.lines[part.id], catalog.makers[part.id], part.slot)
        return all(want in (None, value) for want, value in zip(wanted, has, strict=True))

    def to_page(self, catalog: Catalog) -> Page[Part]:
        """Cut this page out of the catalog's parts."""
        parts = (catalog.parts[name] for name in self.to_come(catalog.parts))
        return self.page((part for part in parts if self.selects(part, catalog)), lambda part: part.id)


class PartRow(Told):
    """One part of a list."""

    id: str
    name: str
    kind: Kind
    maker: str
    line: str
    slot: str | None
    stock_only: bool

    @classmethod
    def from_domain(cls, part: Part, catalog: Catalog) -> Self:
        """Write a part as a row."""
        return cls(
            id=part.id,
            name=part.name,
            kind=part.kind,
            maker=catalog.makers[part.id],
            line=catalog.lines[part.id],
            slot=part.slot,
            stock_only=part.stock_only,
        )


class PartsTold(PageTold):
    """Parts, in order of id."""

    parts: tuple[PartRow, ...]

    @classmethod
    def from_domain(cls, page: Page[Part], serving: Serving) -> Self:
        """Write a page of parts."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            parts=tuple(PartRow.from_domain(part, serving.catalog) for part in page.rows),
            complete=page.complete,
            next=page.next,
        )


class PowerTold(Told):
    """What a channel gives continuously into one rated impedance."""

    impedance_ohm: float
    power_w: float


class ChannelTold(Told):
    """One output of an amplifier or head unit.

    `rated` is empty and `measure` says how to find out where nobody knows.
    """

    id: str
    output: str
    rated: tuple[PowerTold, ...]
    measure: str | None
    min_ohm: FactTold
    needs: str | None
    bridges: tuple[str, ...]

    @classmethod
    def from_domain(cls, channel: Channel, source: Source) -> Self:
        """Write a channel."""
        watts = {} if isinstance(channel.watts, Unknown) else channel.watts
        return cls(
            id=channel.id,
            output=channel.output,
            rated=tuple(
                PowerTold(impedance_ohm=float(ohm), power_w=power) for ohm, power in sorted(watts.items())
            ),
            measure=channel.watts.unknown if isinstance(channel.watts, Unknown) else None,
            min_ohm=FactTold.from_domain(channel.min_ohm, source),
            needs=channel.needs,
            bridges=channel.bridges,
        )


class PartTold(PartRow):
    """One part in full."""

    at: tuple[str, ...]
    tags: tuple[str, ...]
    colour: str | None
    facts: dict[str, FactTold]
    connectors: tuple[ConnectorTold, ...]
    channels: tuple[ChannelTold, ...]
    members: tuple[str, ...]
    host: tuple[str, ...]
    presets_for: tuple[str, ...]
    rewires: bool
    lead_days: int
    warranty_months: int | None
    available: DateSpanTold | None
    source: SourceTold

    @classmethod
    def from_catalog(cls, part: Part, catalog: Catalog) -> Self:
        """Write a part in full."""
        return cls(
            **dict(PartRow.from_domain(part, catalog)),
            at=part.at,
            tags=part.tags,
            colour=part.colour,
            facts={
                name: FactTold.from_domain(fact, part.source) for name, fact in sorted(_facts(part).items())
            },
            connectors=connectors_told(part.connectors, catalog),
            channels=tuple(ChannelTold.from_domain(channel, part.source) for channel in part.channels),
            members=part.members,
            host=part.host,
            presets_for=part.preset.amplifiers if part.preset else (),
            rewires=part.rewires,
            lead_days=part.lead_days,
            warranty_months=part.warranty_months,
            available=DateSpanTold.from_domain(part.available) if part.available else None,
            source=SourceTold.from_domain(part.source),
        )


def _facts(part: Part) -> dict[str, Fact]:
    """Gather the figures of a part, whichever kind they belong to; their names never meet."""
    groups = (part.speaker, part.supply, part.cable)
    figures = {
        name: value for group in groups if group for name, value in group if not isinstance(value, tuple)
    }
    return {**part.spec, **figures, "mass_kg": part.mass_kg}


class PartAnswer(Told):
    """One part."""

    release: ReleaseNamed
    part: PartTold

    @classmethod
    def from_domain(cls, part: Part, serving: Serving) -> Self:
        """Write the answer for a part."""
        return cls(
            release=ReleaseNamed.from_domain(serving), part=PartTold.from_catalog(part, serving.catalog)
        )
