"""A visit that was written down wrongly: its record is put right, with all that follows from it. The history keeps both."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rules.build import AsFound
from rules.done import VisitDone, found_after
from rules.errors import MalformedQuestion
from service.plans.recording import as_recorded, check_parts
from service.plans.saved import SavedPlan
from service.serving import Serving


def corrected(
    saved: SavedPlan, number: int, done: VisitDone, *, planned: SavedPlan, first: AsFound, serving: Serving
) -> SavedPlan:
    """Give a plan with the record of one visit put right.

    What was planned stays as it was planned; that it now starts from another bike is told by how it stands.

    Args:
        number: Of the visit, counted from 1 over all that were done.
        done: As it really was.
        planned: The plan under which it was done.
        first: The bike before the first visit.
        serving: Of which its parts are.

    Raises:
        MalformedQuestion: It cannot have been so, or what was done later cannot have been then.
        UnknownPart, UnknownPlace: The catalog has no such thing.
    """
    before, after = saved.done[: number - 1], saved.done[number:]
    bike = found_after(first, before[: planned.planned_after])
    then = replace(planned, done=before, corrected_found=bike)
    right = replace(as_recorded(then, done, serving), sheet=saved.visit_done(number).sheet)
    return _with(saved, (*before, right, *after), first, serving)


def taken_back(saved: SavedPlan, number: int, *, first: AsFound, serving: Serving) -> SavedPlan:
    """Give a plan without its last visit, which never took place.

    Raises:
        MalformedQuestion: It is not the last.
        UnknownVisit: There is none.
    """
    saved.visit_done(number)
    if number != len(saved.done):
        raise MalformedQuestion(
            "number", "a later visit was done", "take back the last one first, or write down what was done"
        )
    return _with(saved, saved.done[:-1], first, serving)


def _with(saved: SavedPlan, done: tuple[VisitDone, ...], first: AsFound, serving: Serving) -> SavedPlan:
    for later, bike in _then(first, done):
        check_parts(later, saved.bike, bike, serving)
    planned_after = min(saved.planned_after, len(done))
    found = found_after(first, done[:planned_after])
    other = None if found == saved.question.found else found
    return replace(saved, done=done, planned_after=planned_after, corrected_found=other)


def _then(first: AsFound, done: tuple[VisitDone, ...]) -> Iterator[tuple[VisitDone, AsFound]]:
    """Give each visit with the bike before it."""
    for index, visit in enumerate(done):
        yield visit, found_after(first, done[:index])
