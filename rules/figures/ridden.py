"""A bike as it is ridden after a visit: what is fitted, who feeds whom, and facts as figures take them."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal, cast

from rules.answer import Feed, Visit
from rules.bench import Bench
from rules.build import Placement
from rules.calculations.calculation import Value as Input
from rules.catalog.facts import Unknown, Value
from rules.catalog.part import Channel, Part
from rules.figures.figure import Known
from rules.scene import number
from rules.verdict import Cause

ChannelOf = tuple[Placement, str]
"""A placed amplifier or head unit, and one of its channels."""


@dataclass(frozen=True)
class Ridden:
    """A visit of a plan on its bench."""

    bench: Bench
    visit: Visit

    def part(self, placed: Placement) -> Part:
        """Give the part of a placement."""
        return self.bench.part(placed)

    def of_kind(self, kind: str) -> tuple[Placement, ...]:
        """Give the placements of a kind, in order."""
        return tuple(x for x in sorted(self.visit.build) if self.part(x).kind == kind)

    @cached_property
    def channels(self) -> dict[ChannelOf, tuple[Feed, ...]]:
        """Map every channel that feeds something to what it feeds, in order of places."""
        found: dict[ChannelOf, list[Feed]] = {}
        for feed in sorted(self.visit.feeds, key=lambda x: (x.place, x.side, x.speaker)):
            found.setdefault((feed.source, feed.channel), []).append(feed)
        return {key: tuple(found[key]) for key in sorted(found)}

    def channel(self, which: ChannelOf) -> Channel:
        """Give a channel's entry."""
        return next(x for x in self.part(which[0]).channels if x.id == which[1])

    def speaker(self, feed: Feed) -> Placement:
        """Give the placement of a fed speaker."""
        return Placement(feed.speaker, feed.place)

    def zone(self, place: str) -> str:
        """Give what people call the zone at a place."""
        entry = self.bench.tables.catalog.places[place]
        return entry.zone or entry.name

    @cached_property
    def zones(self) -> tuple[Placement, ...]:
        """Give the speakers that are fed, in order of their places."""
        return tuple(sorted({self.speaker(x) for x in self.visit.feeds}, key=lambda x: (x.place, x.part)))

    # --- facts as figures take them ---

    def fact(self, name: str, placed: Placement) -> Known:
        """Give a number of a part or of its place: `part.rms_w`, `place.ear_m`."""
        return _number_of(self.bench.cause(name, placed))

    def word(self, name: str, placed: Placement) -> Known:
        """Give a word of a part or of its place."""
        return _word_of(self.bench.cause(name, placed))

    def bike(self, key: str) -> Known:
        """Give a number that is a fact of the bike."""
        return _number_of(self.bench.bike_cause(key))

    def bike_word(self, key: str) -> Known:
        """Give a word that is a fact of the bike."""
        return _word_of(self.bench.bike_cause(key))

    def each(self, name: str, placed: Sequence[Placement]) -> Known:
        """Give a number of each of several placements."""
        return together(tuple(self.fact(name, x) for x in placed), tuple)

    def enclosure(self, place: str, key: Literal["volume_l", "tuning"]) -> Known:
        """Give the air behind a speaker [l], or whether its box is closed."""
        cause = self.bench.enclosure_cause(place, key)
        return _number_of(cause) if key == "volume_l" else _word_of(cause)

    def of_channel(self, which: ChannelOf, name: str, value: Input | Unknown | None) -> Known:
        """Give a figure of a channel, with the part that it is of as its source."""
        part = self.part(which[0])
        known = None if isinstance(value, Unknown) else value
        shown: Value | Unknown | None = "rated table" if isinstance(known, tuple) else value  # type: ignore[assignment]
        cause = Cause(fact=f"part.channels.{which[1]}.{name}", of=part.id, value=shown, source=part.source)
        return Known(value=known, causes=(cause,))


def _number_of(cause: Cause) -> Known:
    return Known(
        value=number(cause.value), causes=(cause,), why="" if cause.is_missing else "this is no number"
    )


def _word_of(cause: Cause) -> Known:
    is_word = isinstance(cause.value, str)
    return Known(
        value=cast("str", cause.value) if is_word else None,
        causes=(cause,),
        why="" if is_word or cause.is_missing else "this is no word",
    )


def together(parts: tuple[Known, ...], join: Callable[[tuple[float, ...]], Input], stated: str = "") -> Known:
    """Join several numbers into one input; not known unless all are."""
    causes = tuple(dict.fromkeys(cause for known in parts for cause in known.causes))
    unknown = [known for known in parts if known.value is None]
    if unknown:
        missing = tuple(dict.fromkeys(cause for known in unknown for cause in known.missing))
        return Known(value=None, causes=missing, why=next((x.why for x in unknown if x.why), ""))
    return Known(value=join(tuple(cast("float", x.value) for x in parts)), causes=causes, stated=stated)


def stated(value: Input, why: str) -> Known:
    """Give a value that is stated for planning, with the reason."""
    return Known(value=value, stated=why)
