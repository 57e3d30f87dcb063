"""What stands about a part when somebody comes with a claim: term, serial number, fitter, preset, and what changed since.

In term is a reason to inspect, never an automatic refusal or an automatic yes; nor is being out of term, or a change since.
What the law gives a buyer besides is local, and never less for what stands here.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from rules.build import Placement
from rules.done import FittedPart, PresetSet, VisitDone
from rules.question import Fitter
from rules.warranty import add_months

Since = Literal["fitted", "removed", "preset"]

INSPECT = "In term: inspect it."
OVER = "The maker's term is over. What the law gives besides is local: look at it, and look that up."
OPEN = "Nobody wrote down a term. What the law gives is local: look at it, and look that up."


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeSince:
    """Something that was done on the bike after a part was fitted. `near`: at the same place."""

    kind: Since
    placement: Placement
    on: date
    by: str
    near: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """One part that was fitted, as it stands on a day.

    Attributes:
        ends_on: Last day of the maker's term, itself included; None where none is written down.
        in_term: Whether that day has not gone by; None likewise.
        is_there: Whether it is still on the bike.
        preset: The last that was made for it, of an amplifier.
        same_piece: Whether that preset's serial number is the one that the part was fitted with; None where either is missing.
    """

    placement: Placement
    serial: str
    fitted_on: date
    fitter: Fitter
    by: str
    months: int | None
    ends_on: date | None
    in_term: bool | None
    is_there: bool
    preset: PresetSet | None
    same_piece: bool | None
    since: tuple[ChangeSince, ...]
    says: str


def covered(done: Sequence[VisitDone], on: date) -> tuple[Covered, ...]:
    """Tell of every part that was fitted in visits that were done, in their order.

    Args:
        on: The day of the claim.
    """
    return tuple(
        _covered(done, index, fitted, on) for index, visit in enumerate(done) for fitted in visit.fitted
    )


def _covered(done: Sequence[VisitDone], index: int, fitted: FittedPart, on: date) -> Covered:
    visit, later = done[index], done[index + 1 :]
    ends = None if fitted.warranty_months is None else add_months(visit.on, fitted.warranty_months)
    presets = [x for one in done[index:] for x in one.presets if x.amplifier == fitted.placement]
    preset = presets[-1] if presets else None
    serial = fitted.serial or (presets[0].serial if presets else "")
    return Covered(
        placement=fitted.placement,
        serial=serial,
        fitted_on=visit.on,
        fitter=visit.fitter,
        by=visit.by,
        months=fitted.warranty_months,
        ends_on=ends,
        in_term=None if ends is None else on <= ends,
        is_there=not any(x.placement == fitted.placement for one in later for x in one.removed),
        preset=preset,
        same_piece=preset.serial == serial if preset and serial else None,
        since=tuple(_since(later, fitted.placement)),
        says=OPEN if ends is None else INSPECT if on <= ends else OVER,
    )


def _since(later: Sequence[VisitDone], placed: Placement) -> Iterator[ChangeSince]:
    for visit in later:
        what: list[tuple[Since, Placement]] = [
            *(("fitted", x.placement) for x in visit.fitted),
            *(("removed", x.placement) for x in visit.removed),
            *(("preset", x.amplifier) for x in visit.presets),
        ]
        for kind, other in what:
            near = other.place == placed.place
            yield ChangeSince(kind=kind, placement=other, on=visit.on, by=visit.by, near=near)
