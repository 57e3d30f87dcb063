"""One rider's bike as it was found, as it is asked about."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from rules.build import AsFound, LedgerEntry, Measured, Placement
from rules.catalog.facts import Unknown
from service.shapes.base import Asked, Day, FactPath, FitterWord, Id, Label, Minor, PlugName, RecordedValue
from service.shapes.own_parts import OwnPartAsked
from service.shapes.placement import PlacementAsked


class FittedAsked(PlacementAsked):
    """A part that was fitted after the bike left the works, with what is known of it."""

    paid_minor: Minor | None = None
    fitted_on: Day | None = None
    fitter: FitterWord | None = None

    def to_ledger(self) -> LedgerEntry:
        """Read it as an entry of the ledger."""
        return LedgerEntry(
            placement=Placement(self.part, self.place),
            paid=self.paid_minor,
            fitted_on=self.fitted_on,
            fitter=self.fitter,
        )


class MeasuredAsked(Asked):
    """A fact measured on this bike: `path` names the bike's fact, `places.rear_pods.geometry.depth_mm`.

    With `value` null the recorded fact no longer holds on this bike, and `measure` says how to find out.
    """

    path: FactPath
    value: RecordedValue | None
    measure: Annotated[Label, Field(min_length=1)] = "measure it on this bike"
    by: Label = ""
    on: Day | None = None
    photo: Label = ""

    def to_domain(self) -> Measured:
        """Read it."""
        value = Unknown(unknown=self.measure) if self.value is None else self.value
        return Measured(path=self.path, value=value, by=self.by, on=self.on, photo=self.photo)


class MateAsked(Asked):
    """Two plugs that somebody has seen mated, each as `PART@PLACE:CONNECTOR` or `loom:CONNECTOR`."""

    one: PlugName
    other: PlugName

    def to_domain(self) -> tuple[str, str]:
        """Read it."""
        return self.one, self.other


class FoundAsked(Asked):
    """What is known of a rider's own bike beyond its model. Left out: as it left the works."""

    fitted: Annotated[tuple[FittedAsked, ...], Field(max_length=100)] = ()
    removed: Annotated[tuple[PlacementAsked, ...], Field(max_length=100)] = ()
    presets: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    unknown_work: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    measured: Annotated[tuple[MeasuredAsked, ...], Field(max_length=100)] = ()
    wiring: Annotated[tuple[MateAsked, ...], Field(max_length=200)] = ()
    own_parts: Annotated[tuple[OwnPartAsked, ...], Field(max_length=20)] = ()

    def to_domain(self) -> AsFound:
        """Read it."""
        return AsFound(
            fitted=tuple(entry.to_ledger() for entry in self.fitted),
            removed=tuple(entry.to_domain() for entry in self.removed),
            presets=self.presets,
            unknown_work=frozenset(self.unknown_work),
            measured=tuple(entry.to_domain() for entry in self.measured),
            wiring=frozenset(entry.to_domain() for entry in self.wiring),
            own_parts=tuple(entry.to_domain() for entry in self.own_parts),
        )
