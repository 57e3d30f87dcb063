"""Visits as they were done, and the test sheets at their end."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Annotated, Any, Literal, Self

from pydantic import Field

from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.claim import Covered, Since, covered
from rules.done import FittedPart, PresetSet, TakenOff, VisitDone, laid_over
from rules.figures import VisitFigures
from rules.question import Fitter
from rules.test_judging import Judged, Outcome, holds, judge
from rules.test_sheet import ChannelReading, FilledTestSheet, Heard, PolarityHeard
from service.plans.recording import as_planned
from service.plans.saved import SavedPlan
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, Day, Figure, FitterWord, Flag, Label, Minor, Told
from service.shapes.calculations import CautionTold, cautions_told
from service.shapes.found import MateAsked
from service.shapes.placement import PlacementAsked, PlacementTold
from service.shapes.release import ReleaseNamed

Name = Annotated[Label, Field(min_length=1)]
Number = Annotated[int, Field(ge=1, le=10_000), WHOLE]
Months = Annotated[int, Field(ge=0, le=1_200), WHOLE]
Volume = Annotated[int, Field(ge=1, le=1_000), WHOLE]
Notes = Annotated[str, Field(max_length=2_000)]


class FittedPartAsked(PlacementAsked):
    """A part that was fitted, with what was paid for it. `warranty_months` left out: what the catalog promises."""

    paid_minor: Minor | None = None
    serial: Label = ""
    warranty_months: Months | None = None

    def to_fitted(self) -> FittedPart:
        """Read it."""
        return FittedPart(
            placement=self.to_domain(),
            paid=self.paid_minor,
            serial=self.serial,
            warranty_months=self.warranty_months,
        )


class TakenOffAsked(PlacementAsked):
    """A part that came off, with what the shop paid for it."""

    fetched_minor: Minor = 0

    def to_taken(self) -> TakenOff:
        """Read it."""
        return TakenOff(placement=self.to_domain(), fetched=self.fetched_minor)


class PresetSetAsked(Asked):
    """A preset as it was made, for the amplifier of this serial number."""

    amplifier: PlacementAsked
    serial: Name
    made_on: Day
    made_by: Name
    software: Label = ""
    volume_step: Volume | None = None

    def to_domain(self) -> PresetSet:
        """Read it."""
        return PresetSet(
            amplifier=self.amplifier.to_domain(),
            serial=self.serial,
            made_on=self.made_on,
            made_by=self.made_by,
            software=self.software,
            volume_step=self.volume_step,
        )


class VisitDoneAsked(Asked):
    """A visit of the plan that was done. What is left out of `fitted`, `removed` and `others_paid_minor` was as planned.

    `visit` counts the visits of the plan from 1. `wiring` names plugs that are mated since, all of them; needed only where the
    visit was done otherwise and the next one depends on it. A preset is never taken for granted: each has its serial number.
    """

    visit: Annotated[int, Field(ge=1, le=6), WHOLE]
    on: Day
    by: Name
    fitter: FitterWord = "shop"
    fitted: Annotated[tuple[FittedPartAsked, ...], Field(max_length=100)] | None = None
    removed: Annotated[tuple[TakenOffAsked, ...], Field(max_length=100)] | None = None
    presets: Annotated[tuple[PresetSetAsked, ...], Field(max_length=20)] = ()
    others_paid_minor: Minor | None = None
    wiring: Annotated[tuple[MateAsked, ...], Field(max_length=200)] = ()
    why: Annotated[str, Field(max_length=500)] = ""

    def to_domain(self, saved: SavedPlan) -> VisitDone:
        """Read it.

        Raises:
            MalformedQuestion: The plan has no such visit.
        """
        fitted, removed, others = as_planned(saved, self.visit)
        if self.fitted is not None:
            fitted = tuple(x.to_fitted() for x in self.fitted)
        if self.removed is not None:
            removed = tuple(x.to_taken() for x in self.removed)
        return VisitDone(
            visit=self.visit,
            on=self.on,
            fitter=self.fitter,
            by=self.by,
            fitted=fitted,
            removed=removed,
            presets=tuple(x.to_domain() for x in self.presets),
            others_paid=others if self.others_paid_minor is None else self.others_paid_minor,
            wiring=frozenset(x.to_domain() for x in self.wiring),
        )


class VisitCorrectionAsked(Asked):
    """What was written down wrongly of a visit that was done, as it really was; what is left out stays as it is written down.

    `number` counts all visits that were done from 1. `never_done` takes the visit back, which must be the last. `wiring` left
    out while parts change: not known, unless they are those that were planned.
    """

    number: Number
    why: Annotated[str, Field(min_length=1, max_length=500)]
    never_done: Flag = False
    on: Day | None = None
    by: Name | None = None
    fitter: FitterWord | None = None
    fitted: Annotated[tuple[FittedPartAsked, ...], Field(max_length=100)] | None = None
    removed: Annotated[tuple[TakenOffAsked, ...], Field(max_length=100)] | None = None
    presets: Annotated[tuple[PresetSetAsked, ...], Field(max_length=20)] | None = None
    others_paid_minor: Minor | None = None
    wiring: Annotated[tuple[MateAsked, ...], Field(max_length=200)] = ()

    def to_domain(self, recorded: VisitDone) -> VisitDone:
        """Lay it over what was written down."""
        told: dict[str, Any] = {
            "on": self.on,
            "by": self.by,
            "fitter": self.fitter,
            "fitted": None if self.fitted is None else tuple(x.to_fitted() for x in self.fitted),
            "removed": None if self.removed is None else tuple(x.to_taken() for x in self.removed),
            "presets": None if self.presets is None else tuple(x.to_domain() for x in self.presets),
            "others_paid": self.others_paid_minor,
            "wiring": frozenset(x.to_domain() for x in self.wiring),
        }
        return laid_over(
            replace(recorded, **{name: x for name, x in told.items() if x is not None}), recorded
        )


class ChannelReadingAsked(Asked):
    """One channel as it was set and measured with the test tone; what nobody wrote down is null."""

    source: PlacementAsked
    channel: Name
    measured_v: Figure | None = None
    high_pass_hz: Figure | None = None
    low_pass_hz: Figure | None = None
    sits_in: Label = ""

    def to_domain(self) -> ChannelReading:
        """Read it."""
        return ChannelReading(
            source=self.source.to_domain(),
            channel=self.channel,
            measured_v=self.measured_v,
            high_pass_hz=self.high_pass_hz,
            low_pass_hz=self.low_pass_hz,
            sits_in=self.sits_in,
        )


class PolarityHeardAsked(Asked):
    """One comparison of the polarity check, by its words on the fitting sheet."""

    compare: Name
    heard: Heard

    def to_domain(self) -> PolarityHeard:
        """Read it."""
        return PolarityHeard(compare=self.compare, heard=self.heard)


class TestSheetAsked(Asked):
    """What was measured at the end of a visit. `visit` counts all visits that were done from 1, as `done` of the plan lists them.

    Voltages: `rest_v` with the engine off for an hour; `idle_v` idling, `raised_v` at the speed of easy riding, both with
    everything on; `amplifier_v` at the amplifier's supply at that speed. `photos` are references in the shop's own filing.
    """

    visit: Number
    on: Day
    by: Name
    rest_v: Figure | None = None
    idle_v: Figure | None = None
    raised_v: Figure | None = None
    amplifier_v: Figure | None = None
    channels: Annotated[tuple[ChannelReadingAsked, ...], Field(max_length=50)] = ()
    polarity: Annotated[tuple[PolarityHeardAsked, ...], Field(max_length=50)] = ()
    steers_freely: Flag | None = None
    lids_close: Flag | None = None
    photos: Annotated[tuple[Name, ...], Field(max_length=50)] = ()
    notes: Notes = ""
    signed_by: Label = ""
    signed_on: Day | None = None

    def to_domain(self) -> FilledTestSheet:
        """Read it."""
        return FilledTestSheet(
            on=self.on,
            by=self.by,
            rest_v=self.rest_v,
            idle_v=self.idle_v,
            raised_v=self.raised_v,
            amplifier_v=self.amplifier_v,
            channels=tuple(x.to_domain() for x in self.channels),
            polarity=tuple(x.to_domain() for x in self.polarity),
            steers_freely=self.steers_freely,
            lids_close=self.lids_close,
            photos=self.photos,
            notes=self.notes,
            signed_by=self.signed_by,
            signed_on=self.signed_on,
        )


class FittedPartTold(Told):
    """A part that was fitted."""

    part: PlacementTold
    paid_minor: int | None
    serial: str
    warranty_months: int | None


class TakenOffTold(Told):
    """A part that came off."""

    part: PlacementTold
    fetched_minor: int


class PresetSetTold(Told):
    """A preset as it was made."""

    amplifier: PlacementTold
    serial: str
    made_on: date
    made_by: str
    software: str
    volume_step: int | None

    @classmethod
    def from_domain(cls, preset: PresetSet, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            amplifier=_placed(preset.amplifier, catalog),
            serial=preset.serial,
            made_on=preset.made_on,
            made_by=preset.made_by,
            software=preset.software,
            volume_step=preset.volume_step,
        )


class ChannelReadingTold(Told):
    """One channel as it was set and measured."""

    source: PlacementTold
    channel: str
    measured_v: float | None
    high_pass_hz: float | None
    low_pass_hz: float | None
    sits_in: str


class PolarityHeardTold(Told):
    """One comparison of the polarity check."""

    compare: str
    heard: Heard


class TestSheetTold(Told):
    """A test sheet as it was filled in."""

    on: date
    by: str
    rest_v: float | None
    idle_v: float | None
    raised_v: float | None
    amplifier_v: float | None
    channels: tuple[ChannelReadingTold, ...]
    polarity: tuple[PolarityHeardTold, ...]
    steers_freely: bool | None
    lids_close: bool | None
    photos: tuple[str, ...]
    notes: str
    signed_by: str
    signed_on: date | None

    @classmethod
    def from_domain(cls, sheet: FilledTestSheet, catalog: Catalog) -> Self:
        """Write it."""
        plain = ("on", "by", "rest_v", "idle_v", "raised_v", "amplifier_v", "steers_freely", "lids_close")
        more = ("photos", "notes", "signed_by", "signed_on")
        return cls(
            channels=tuple(_channel(x, catalog) for x in sheet.channels),
            polarity=tuple(PolarityHeardTold(compare=x.compare, heard=x.heard) for x in sheet.polarity),
            **{name: getattr(sheet, name) for name in (*plain, *more)},
        )


class VisitDoneTold(Told):
    """A visit that was done. `number` counts all that were done from 1, `visit` those of the plan that it belonged to.

    `as_planned`: what was fitted, taken off and set is what the plan said.
    """

    number: int
    visit: int
    on: date
    fitter: Fitter
    by: str
    fitted: tuple[FittedPartTold, ...]
    removed: tuple[TakenOffTold, ...]
    presets: tuple[PresetSetTold, ...]
    others_paid_minor: int
    paid_minor: int
    fetched_minor: int
    as_planned: bool
    sheet: TestSheetTold | None

    @classmethod
    def from_domain(cls, done: VisitDone, number: int, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            number=number,
            visit=done.visit,
            on=done.on,
            fitter=done.fitter,
            by=done.by,
            fitted=tuple(_fitted(x, catalog) for x in done.fitted),
            removed=tuple(
                TakenOffTold(part=_placed(x.placement, catalog), fetched_minor=x.fetched)
                for x in done.removed
            ),
            presets=tuple(PresetSetTold.from_domain(x, catalog) for x in done.presets),
            others_paid_minor=done.others_paid,
            paid_minor=done.paid,
            fetched_minor=done.fetched,
            as_planned=done.as_planned,
            sheet=None if done.sheet is None else TestSheetTold.from_domain(done.sheet, catalog),
        )


def _placed(placed: Placement, catalog: Catalog) -> PlacementTold:
    return PlacementTold.from_domain(placed, catalog)


def _fitted(fitted: FittedPart, catalog: Catalog) -> FittedPartTold:
    return FittedPartTold(
        part=_placed(fitted.placement, catalog),
        paid_minor=fitted.paid,
        serial=fitted.serial,
        warranty_months=fitted.warranty_months,
    )


def _channel(reading: ChannelReading, catalog: Catalog) -> ChannelReadingTold:
    return ChannelReadingTold(
        source=_placed(reading.source, catalog),
        channel=reading.channel,
        measured_v=reading.measured_v,
        high_pass_hz=reading.high_pass_hz,
        low_pass_hz=reading.low_pass_hz,
        sits_in=reading.sits_in,
    )


class JudgedTold(Told):
    """One entry of a test sheet against its limits.

    `outcome`: `within`; `mind`, worth knowing and no reason to send the bike back; `outside`; `not_written_down`. `cites` is the
    id of the calculation that gives the limit; of common practice it says that this has no source.
    """

    entry: str
    about: str
    outcome: Outcome
    measured: float | None
    least: float | None
    most: float | None
    unit: str
    basis: Literal["calculation", "practice"]
    cites: str
    says: str

    @classmethod
    def from_domain(cls, judged: Judged) -> Self:
        """Write it."""
        return cls(**{name: getattr(judged, name) for name in cls.model_fields})


class SheetJudgedTold(Told):
    """The test sheet of a visit that was done, held against its limits. `holds`: all is written down, and nothing is outside."""

    number: int
    on: date
    as_planned: bool
    holds: bool
    sheet: TestSheetTold
    judged: tuple[JudgedTold, ...]


class SheetsTold(Told):
    """The test sheets of a plan, in the order of its visits, and the visits that have none yet."""

    release: ReleaseNamed
    plan: str
    sheets: tuple[SheetJudgedTold, ...]
    without: tuple[int, ...]
    cautions: tuple[CautionTold, ...]


class ChangeSinceTold(Told):
    """Something that was done on the bike after a part was fitted; `near`: at the same place."""

    kind: Since
    part: PlacementTold
    on: date
    by: str
    near: bool


class CoveredTold(Told):
    """One part that was fitted, as it stands on the day that was asked for.

    In term is a reason to inspect, never an automatic refusal; nor is being out of term, or a change since. `same_piece`: whether
    the preset was made for the piece with this serial number; null where one of the two is not known.
    """

    part: PlacementTold
    serial: str
    fitted_on: date
    fitter: Fitter
    by: str
    warranty_months: int | None
    ends_on: date | None
    in_term: bool | None
    is_there: bool
    preset: PresetSetTold | None
    same_piece: bool | None
    since: tuple[ChangeSinceTold, ...]
    says: str

    @classmethod
    def from_domain(cls, covered: Covered, catalog: Catalog) -> Self:
        """Write it."""
        preset = covered.preset
        plain = (
            "serial",
            "fitted_on",
            "fitter",
            "by",
            "ends_on",
            "in_term",
            "is_there",
            "same_piece",
            "says",
        )
        return cls(
            part=_placed(covered.placement, catalog),
            warranty_months=covered.months,
            preset=None if preset is None else PresetSetTold.from_domain(preset, catalog),
            since=tuple(
                ChangeSinceTold(
                    kind=x.kind, part=_placed(x.placement, catalog), on=x.on, by=x.by, near=x.near
                )
                for x in covered.since
            ),
            **{name: getattr(covered, name) for name in plain},
        )


class WarrantyAsked(Asked):
    """The day of the claim."""

    on: Day | None = Field(default=None, description="The day of the claim; today, if it is left out.")


class WarrantyTold(Told):
    """Every part that was ever fitted in a visit of the plan, with its term, its preset, and what changed since."""

    release: ReleaseNamed
    plan: str
    on: date
    parts: tuple[CoveredTold, ...]
    cautions: tuple[CautionTold, ...]

    @classmethod
    def from_domain(cls, saved: SavedPlan, on: date, catalog: Catalog, serving: Serving) -> Self:
        """Write it."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            plan=saved.id,
            on=on,
            parts=tuple(CoveredTold.from_domain(x, catalog) for x in covered(saved.done, on)),
            cautions=cautions_told(("estimate", "paid_work")),
        )


def sheet_judged(done: VisitDone, number: int, figures: VisitFigures, catalog: Catalog) -> SheetJudgedTold:
    """Write a sheet with what it was held against. The visit has one."""
    assert done.sheet is not None  # noqa: S101 -- the caller has looked
    judged = judge(done.sheet, figures)
    return SheetJudgedTold(
        number=number,
        on=done.on,
        as_planned=done.as_planned,
        holds=holds(judged),
        sheet=TestSheetTold.from_domain(done.sheet, catalog),
        judged=tuple(map(JudgedTold.from_domain, judged)),
    )
