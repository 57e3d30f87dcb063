"""What a fitting takes, as it is answered: money, presets, connections, and who feeds whom."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from rules.answer import Change, ChangeKind, Feed, PresetMade
from rules.catalog.catalog import Catalog
from rules.money import Line, LineKind
from service.shapes.base import Told
from service.shapes.placement import PlacementTold, read_placement


class LineTold(Told):
    """One line of a quote. Labour counts minutes, everything else pieces. Resale is negative.

    `of` is the fitted part that the line is for, where it is for one.
    `assumed`: no price list reaches that day, so the last one was carried on.
    """

    kind: LineKind
    about: str
    name: str
    of: PlacementTold | None
    pieces: int | None
    minutes: int | None
    total_minor: int
    assumed: bool

    @classmethod
    def from_domain(cls, line: Line, catalog: Catalog) -> Self:
        """Write a line."""
        labour = line.kind == "labour"
        return cls(
            kind=line.kind,
            about=line.about,
            name=name_of(line.about, catalog),
            of=PlacementTold.from_domain(read_placement(line.of), catalog) if line.of else None,
            pieces=None if labour else line.quantity,
            minutes=line.quantity if labour else None,
            total_minor=line.total,
            assumed=line.assumed,
        )


class PresetTold(Told):
    """A preset that is made for an amplifier."""

    amplifier: PlacementTold
    service: str
    name: str
    days: int

    @classmethod
    def from_domain(cls, preset: PresetMade, catalog: Catalog) -> Self:
        """Write a preset."""
        return cls(
            amplifier=PlacementTold.from_domain(preset.amplifier, catalog),
            service=preset.service,
            name=name_of(preset.service, catalog),
            days=preset.days,
        )


class ChangeTold(Told):
    """What happens to a connection between two plugs and sockets."""

    kind: ChangeKind
    first: str
    second: str

    @classmethod
    def from_domain(cls, change: Change) -> Self:
        """Write a change."""
        return cls(kind=change.kind, first=change.first, second=change.second)


class FeedTold(Told):
    """One speaker and the channel that feeds it, with the load on that channel, null where nobody knows."""

    place: str
    side: str
    speaker: str
    source: PlacementTold
    channel: str
    load_ohm: float | None

    @classmethod
    def from_domain(cls, feed: Feed, catalog: Catalog) -> Self:
        """Write a feed."""
        return cls(
            place=feed.place,
            side=feed.side,
            speaker=feed.speaker,
            source=PlacementTold.from_domain(feed.source, catalog),
            channel=feed.channel,
            load_ohm=feed.load_ohm,
        )


def name_of(about: str, catalog: Catalog) -> str:
    """What people call a part or an operation."""
    if about in catalog.parts:
        return catalog.parts[about].name
    return catalog.rules[about].says if about in catalog.rules else about


def lines_told(lines: Iterable[Line], catalog: Catalog) -> tuple[LineTold, ...]:
    """Write several lines in their order."""
    return tuple(LineTold.from_domain(line, catalog) for line in lines)


def presets_told(presets: Iterable[PresetMade], catalog: Catalog) -> tuple[PresetTold, ...]:
    """Write several presets in their order."""
    return tuple(PresetTold.from_domain(preset, catalog) for preset in presets)


def changes_told(changes: Iterable[Change]) -> tuple[ChangeTold, ...]:
    """Write several changes in their order."""
    return tuple(ChangeTold.from_domain(change) for change in changes)


def feeds_told(feeds: Iterable[Feed], catalog: Catalog) -> tuple[FeedTold, ...]:
    """Write several feeds in their order."""
    return tuple(FeedTold.from_domain(feed, catalog) for feed in feeds)
