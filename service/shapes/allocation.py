"""Which channel feeds which zone: asked with figures alone, without a bike."""

from __future__ import annotations

from typing import Annotated, Literal, Self

from pydantic import Field

from rules.allocation import Allocation, Kept, Limit, NoAllocation, Output, Side, SideFed, Source, ZoneLoad
from rules.errors import MalformedQuestion
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, Flag, Id, Told
from service.shapes.calculations import CautionTold, cautions_told
from service.shapes.release import ReleaseNamed

CAUTIONS = ("estimate", "wiring")
Rated = Annotated[float, Field(gt=0, le=100_000, allow_inf_nan=False), WHOLE]


class RatedAsked(Asked):
    """Continuous power [W] at one rated impedance [ohm]."""

    ohm: Rated
    watts: Rated


class OutputAsked(Asked):
    """One channel. `side` ties it to the left or right signal; `made_of` names the channels that it is bridged from."""

    id: Id
    rated: Annotated[tuple[RatedAsked, ...], Field(min_length=1, max_length=10)]
    min_ohm: Rated
    side: Literal["left", "right"] | None = None
    made_of: Annotated[tuple[Id, ...], Field(max_length=4)] = ()

    def to_domain(self) -> Output:
        """Read it."""
        watts = {f"{rated.ohm:g}": rated.watts for rated in self.rated}
        if len(watts) < len(self.rated):
            raise MalformedQuestion(
                "sources", "a channel has two powers at one impedance", "give each impedance once"
            )
        return Output(id=self.id, watts=watts, min_ohm=self.min_ohm, side=self.side, made_of=self.made_of)


class SourceAsked(Asked):
    """An amplifier or head unit; `caps` tells that a preset may hold its power down."""

    name: Id
    outputs: Annotated[tuple[OutputAsked, ...], Field(max_length=24)]
    caps: Flag = False

    def to_domain(self) -> Source:
        """Read it."""
        outputs = tuple(output.to_domain() for output in self.outputs)
        return Source(name=self.name, outputs=outputs, caps=self.caps)


class ZoneAsked(Asked):
    """A zone: impedance and continuous power of one speaker. A pair has two, left and right."""

    name: Id
    impedance_ohm: Rated
    rms_w: Rated
    pair: Flag = True

    def to_domain(self) -> ZoneLoad:
        """Read it."""
        return ZoneLoad(name=self.name, impedance_ohm=self.impedance_ohm, rms_w=self.rms_w, pair=self.pair)


class KeptAsked(Asked):
    """A zone that keeps its channels: left and right, or one."""

    zone: Id
    source: Id
    outputs: Annotated[tuple[Id, ...], Field(min_length=1, max_length=2)]


class AllocationAsked(Asked):
    """Amplifiers and head units, the zones to feed, and what keeps its channels."""

    sources: Annotated[tuple[SourceAsked, ...], Field(max_length=8)]
    zones: Annotated[tuple[ZoneAsked, ...], Field(max_length=8)]
    kept: Annotated[tuple[KeptAsked, ...], Field(max_length=8)] = ()

    def to_domain(self) -> tuple[tuple[Source, ...], tuple[ZoneLoad, ...], Kept]:
        """Read it.

        Raises:
            MalformedQuestion: A zone is kept twice, or an impedance rated twice.
        """
        kept = {entry.zone: (entry.source, entry.outputs) for entry in self.kept}
        if len(kept) < len(self.kept):
            raise MalformedQuestion("kept", "a zone is kept twice", "name each zone once")
        sources = tuple(source.to_domain() for source in self.sources)
        return sources, tuple(zone.to_domain() for zone in self.zones), kept


class SideFedTold(Told):
    """One speaker and its channel, with the channel's whole load and power, and the speaker's share.

    `margin` is the speaker's continuous rating over its share: below 1, a preset must cap the power.
    """

    zone: str
    side: Side
    source: str
    output: str
    load_ohm: float
    channel_w: float
    share_w: float
    margin: float

    @classmethod
    def from_domain(cls, fed: SideFed) -> Self:
        """Write it."""
        return cls(
            zone=fed.zone,
            side=fed.side,
            source=fed.source,
            output=fed.output,
            load_ohm=fed.load_ohm,
            channel_w=fed.channel_w,
            share_w=fed.share_w,
            margin=fed.margin,
        )


class Allocated(Told):
    """The best allocation; or the zones that cannot be fed together, and which limits, lifted, would let them.

    `shared` lists zones on the same channels, and `says` what that means. `capped` names the sources whose power a preset
    must hold down.
    """

    outcome: Literal["allocation", "no_allocation"]
    feeds: tuple[SideFedTold, ...] = ()
    shared: tuple[tuple[str, ...], ...] = ()
    says: str = ""
    capped: tuple[str, ...] = ()
    zones: tuple[str, ...] = ()
    would_help: tuple[Limit, ...] = ()
    cautions: tuple[CautionTold, ...]

    @classmethod
    def from_domain(cls, answer: Allocation | NoAllocation) -> Self:
        """Write either answer."""
        cautions = cautions_told(CAUTIONS)
        if isinstance(answer, NoAllocation):
            return cls(
                outcome="no_allocation",
                zones=answer.zones,
                would_help=answer.would_help,
                cautions=cautions,
            )
        return cls(
            outcome="allocation",
            feeds=tuple(map(SideFedTold.from_domain, answer.feeds)),
            shared=answer.shared,
            says=answer.says,
            capped=answer.capped,
            cautions=cautions,
        )


class AllocationTold(Allocated):
    """Either answer, and the release that gave it."""

    release: ReleaseNamed

    @classmethod
    def of(cls, answer: Allocation | NoAllocation, serving: Serving) -> Self:
        """Write either answer and the release."""
        return cls(release=ReleaseNamed.from_domain(serving), **dict(Allocated.from_domain(answer)))
