"""Visits that were done: what was really fitted and paid, the bike as it is since, and what is left of a question."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Final, Literal

from rules.answer import Visit
from rules.build import AsFound, LedgerEntry, Placement
from rules.question import Fitter, PathQuestion, Stage, Want
from rules.test_sheet import FilledTestSheet


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedPart:
    """A part that was fitted. `paid` is for this piece [minor units], None where nobody knows.

    Attributes:
        serial: Of the piece, where it has one.
        warranty_months: What the maker's sheet promised on the day, None where it says nothing.
    """

    placement: Placement
    paid: int | None = None
    serial: str = ""
    warranty_months: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOff:
    """A part that came off, and what the shop paid for it [minor units]."""

    placement: Placement
    fetched: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetSet:
    """A preset as it was made: it holds for the amplifier of this serial number alone.

    Attributes:
        made_by: Who set it.
        software: Of the head unit, as it shows it.
        volume_step: The volume reference, None where nobody wrote it down.
    """

    amplifier: Placement
    serial: str
    made_on: date
    made_by: str
    software: str = ""
    volume_step: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitDone:
    """A visit as it was done.

    Attributes:
        visit: Which visit of the plan it was, counted from 1.
        by: Who did the work.
        others_paid: What was paid besides parts: labour, presets, freight [minor units].
        wiring: Plugs that are mated since, all of them; empty where nobody wrote them down.
        as_planned: What was fitted, taken off and set is what the plan says.
        sheet: The test sheet, once it is filled in.
    """

    visit: int
    on: date
    fitter: Fitter
    by: str
    fitted: tuple[FittedPart, ...] = ()
    removed: tuple[TakenOff, ...] = ()
    presets: tuple[PresetSet, ...] = ()
    others_paid: int = 0
    wiring: frozenset[tuple[str, str]] = field(default_factory=frozenset)
    as_planned: bool = True
    sheet: FilledTestSheet | None = None

    @property
    def paid(self) -> int:
        """Give what the rider paid for it, before what parts fetched [minor units]."""
        return sum(x.paid or 0 for x in self.fitted) + self.others_paid

    @property
    def parts(self) -> tuple[frozenset[Placement], frozenset[Placement]]:
        """Give what came in and what came off."""
        return frozenset(x.placement for x in self.fitted), frozenset(x.placement for x in self.removed)

    @property
    def fetched(self) -> int:
        """Give what the shop paid for what came off [minor units]."""
        return sum(x.fetched for x in self.removed)


def laid_over(right: VisitDone, recorded: VisitDone) -> VisitDone:
    """Give a visit as it really was, with how the plugs were mated as far as that still holds."""
    same = right.parts == recorded.parts
    return replace(right, wiring=right.wiring or (recorded.wiring if same else frozenset()))


def is_as_planned(done: VisitDone, planned: Visit) -> bool:
    """Compare what was done with the plan: the same parts at the same places, the same presets, by the same kind of fitter."""
    return (
        done.parts == (frozenset(planned.adds), frozenset(planned.removes))
        and {x.amplifier for x in done.presets} == {x.amplifier for x in planned.presets}
        and done.fitter == planned.fitter
    )


def wiring_of(planned: Visit) -> frozenset[tuple[str, str]]:
    """Give the plugs that are mated after a visit that was done as planned."""
    return frozenset((str(one), str(other)) for one, other in planned.wiring or ())


def found_after(found: AsFound, done: Iterable[VisitDone]) -> AsFound:
    """Give the bike as it is after visits that were done.

    Presets in force: those that were made, and earlier ones if the visit was done as planned (the plan makes anew what it voids)
    or changed no part. Mated plugs are known after a visit that tells them; otherwise every way counts in which they can be.
    """
    for visit in done:
        found = _after(found, visit)
    return found


def _after(found: AsFound, visit: VisitDone) -> AsFound:
    gone = {x.placement for x in visit.removed}
    own = {x.placement for x in found.fitted}
    back = {x.placement for x in visit.fitted} & set(found.removed)
    stays = tuple(x for x in found.fitted if x.placement not in gone)
    removed = (set(found.removed) | (gone - own)) - back
    return replace(
        found,
        fitted=(*stays, *(_entry(x, visit) for x in visit.fitted if x.placement not in back)),
        removed=tuple(sorted(removed)),
        presets=_presets(found, visit),
        wiring=visit.wiring if visit.wiring or _changes(visit) else found.wiring,
    )


def _entry(fitted: FittedPart, visit: VisitDone) -> LedgerEntry:
    return LedgerEntry(placement=fitted.placement, paid=fitted.paid, fitted_on=visit.on, fitter=visit.fitter)


def _changes(visit: VisitDone) -> bool:
    return bool(visit.fitted or visit.removed)


def _presets(found: AsFound, visit: VisitDone) -> tuple[str, ...]:
    gone = {x.placement.part for x in visit.removed} - {x.placement.part for x in visit.fitted}
    kept = set(found.presets) if visit.as_planned or not _changes(visit) else set()
    return tuple(sorted((kept | {x.amplifier.part for x in visit.presets}) - gone))


AS_BEFORE: Final = "as_before"
"""A budget that a change leaves as it is; None means that there is none any more."""

AsBefore = Literal["as_before"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanChange:
    """What somebody asks to be otherwise in what is left of a plan. What is left out stays as it is.

    Attributes:
        stages: The visits to come, instead of those that are not done.
        wants: What is wanted, instead of what was.
        budget: The most that all visits to come may cost [minor units].
        year_budgets: The most for each calendar year to come [minor units].
        fitter: Who does all visits to come.
        keep: What must stay where it is.
        drop: Parts that must not be bought; what only they would do is not wanted any more.
        now: Parts that must be there after the next visit.
        colour: Of what is painted.
    """

    stages: tuple[Stage, ...] | None = None
    wants: tuple[Want, ...] | None = None
    budget: int | AsBefore | None = AS_BEFORE
    year_budgets: Mapping[int, int] | None = None
    fitter: Fitter | None = None
    keep: tuple[Placement, ...] = ()
    drop: tuple[str, ...] = ()
    now: tuple[str, ...] = ()
    colour: str | None = None


NO_CHANGE = PlanChange()


def question_from_there(
    question: PathQuestion, done: tuple[VisitDone, ...], today: date, change: PlanChange = NO_CHANGE
) -> PathQuestion:
    """Give what is left of a question once visits are done, with a change.

    Visits that should have been and were not are asked for today or later, in their order. What was paid counts against the
    budgets of the whole and of its year, less what parts fetched if the question lets resale count; a budget that is used up is
    nothing, and never less.

    Args:
        question: That the plan answers.
        done: The visits of that plan that were done, in order.
        today: No visit is asked for before.
    """
    over = max((x.visit for x in done), default=0)
    stages = change.stages if change.stages is not None else _to_come(question, over, today)
    if change.fitter is not None:
        stages = tuple(replace(stage, fitter=change.fitter) for stage in stages)
    wants = question.wants if change.wants is None else change.wants
    later = replace(
        question,
        stages=stages,
        wants=_wants(wants, 0 if change.wants is not None else over, len(stages), change),
        found=found_after(question.found, done),
        locked=_still(question.locked, done) | set(change.keep),
        may_go=_still(question.may_go, done),
        excluded=question.excluded | set(change.drop),
        colour=change.colour or question.colour,
    )
    return _with_budgets(later, done, change)


def _to_come(question: PathQuestion, over: int, today: date) -> tuple[Stage, ...]:
    stages: list[Stage] = []
    earliest = today
    for stage in question.stages[over:]:
        stages.append(replace(stage, on=max(stage.on, earliest)))
        earliest = stages[-1].on + timedelta(days=1)
    return tuple(stages) or (Stage(on=today, fitter=question.stages[-1].fitter),)


def _still(placements: frozenset[Placement], done: tuple[VisitDone, ...]) -> frozenset[Placement]:
    """Leave out what is gone."""
    return placements - {x.placement for visit in done for x in visit.removed}


def _wants(wants: tuple[Want, ...], over: int, last: int, change: PlanChange) -> tuple[Want, ...]:
    left = (_without(_moved(want, over, last), change.drop) for want in wants)
    asked = [want for want in left if want is not None]
    for part in change.now:
        asked = _sooner(asked, part)
    return tuple(asked)


def _moved(want: Want, over: int, last: int) -> Want:
    """Count its visit from the first that is left."""
    return want if want.by is None else replace(want, by=min(max(want.by - over, 1), last))


def _without(want: Want, dropped: tuple[str, ...]) -> Want | None:
    if not want.parts:
        return want
    left = tuple(x for x in want.parts if x not in dropped)
    return replace(want, parts=left) if left else None


def _sooner(wants: list[Want], part: str) -> list[Want]:
    """Want a part at once: the want that names it is narrowed to it, or there is a new one."""
    at = next((index for index, want in enumerate(wants) if part in want.parts), None)
    if at is None:
        return [*wants, Want(parts=(part,), by=1)]
    return [*wants[:at], replace(wants[at], parts=(part,), by=1), *wants[at + 1 :]]


def _with_budgets(question: PathQuestion, done: tuple[VisitDone, ...], change: PlanChange) -> PathQuestion:
    counts = question.resale_counts
    used = sum(_used(x, counts=counts) for x in done)
    budget = question.budget if change.budget == AS_BEFORE else change.budget
    if change.budget == AS_BEFORE and budget is not None:
        budget = max(budget - used, 0)
    years = dict(question.year_budgets)
    for visit in done:
        if visit.on.year in years:
            years[visit.on.year] = max(years[visit.on.year] - _used(visit, counts=counts), 0)
    return replace(
        question,
        budget=budget if isinstance(budget, int) else None,
        year_budgets=years if change.year_budgets is None else dict(change.year_budgets),
    )


def _used(visit: VisitDone, *, counts: bool) -> int:
    return visit.paid - visit.fetched if counts else visit.paid
