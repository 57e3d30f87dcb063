"""What would make a path where there is none: one demand eased at a time, each change tried and its plan checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from rules.answer import Conflict, Cure, CureKind, NoPlan, Plan
from rules.caps import CapKind, caps_of
from rules.catalog.part import RUN_KINDS
from rules.conflicts import demands_of
from rules.path import STAGES, Aimed
from rules.plan import aims
from rules.planner import Planner
from rules.question import PathQuestion, Want
from rules.wish import about

_RAISES: dict[CapKind, CureKind] = {
    "budget": "raise_budget",
    "year_budget": "raise_year_budget",
    "path_budget": "raise_path_budget",
}
_EASES: dict[str, CureKind] = {
    "fitter": "at_the_shop",
    "colour": "any_colour",
    "mass": "any_mass",
    "locked": "unlock",
    "excluded": "allow_part",
}


def cures_for(planner: Planner, question: PathQuestion, answer: NoPlan) -> tuple[Cure, ...]:
    """Find the changes that each make a path, the one with the cheapest plan first."""
    if answer.reason != "conflict":
        return ()
    found = [
        *_raised(planner, question, answer.conflicts),
        *_eased(planner, question, answer.conflicts),
        *_later(planner, question, answer.conflicts),
        *_one_more_visit(planner, question),
        *_rewired(planner, question),
        *_left_out(planner, question, answer.conflicts),
    ]
    # Going without something wanted is the last thing to offer, however cheap it is.
    return tuple(sorted(found, key=lambda x: (x.kind == "leave_out", x.total, x.kind, x.about)))


def _raised(planner: Planner, question: PathQuestion, conflicts: tuple[Conflict, ...]) -> Iterator[Cure]:
    """Raise one budget by the least that makes a path."""
    for cap in caps_of(question):
        if Conflict(kind=cap.kind, about=cap.about) in conflicts:
            cost = aims.cost_of(cap.visits, resale=question.resale_counts)
            least = planner.plan(cap.put(question, None), Aimed(levels=(cost,)))
            if least is not None:
                needed = cap.used(question, least)
                planner.check(cap.put(question, needed), least)
                yield Cure(kind=_RAISES[cap.kind], about=cap.about, total=least.total, more=needed - cap.most)


def _eased(planner: Planner, question: PathQuestion, conflicts: tuple[Conflict, ...]) -> Iterator[Cure]:
    """Lift one limit: who fits, a colour, a mass, a lock, a part that was ruled out."""
    for conflict, ease in demands_of(question):
        if conflict.kind in _EASES and conflict in conflicts:
            plan = planner.plan(ease(question))
            if plan is not None:
                yield Cure(kind=_EASES[conflict.kind], about=conflict.about, total=plan.total)


def _later(planner: Planner, question: PathQuestion, conflicts: tuple[Conflict, ...]) -> Iterator[Cure]:
    """Wait longer for one thing, as short as makes a path."""
    for want in _conflicting(question, conflicts):
        for visit in range((want.by or len(question.stages)) + 1, len(question.stages) + 1):
            plan = planner.plan(_with(question, want, replace(want, by=visit)))
            if plan is not None:
                yield Cure(kind="later", about=about(want), total=plan.total, visit=visit)
                break


def _one_more_visit(planner: Planner, question: PathQuestion) -> Iterator[Cure]:
    """Come once more, a year after the last visit, with the same fitter and budget."""
    last = question.stages[-1]
    # A year after 29 February is 28 February.
    day = last.on.day if (last.on.month, last.on.day) != (2, 29) else 28
    if len(question.stages) == STAGES or last.on.year == last.on.max.year:
        return
    extra = replace(last, on=last.on.replace(year=last.on.year + 1, day=day))
    plan = planner.plan(replace(question, stages=(*question.stages, extra)))
    if plan is not None:
        yield Cure(kind="another_visit", about=extra.on.isoformat(), total=plan.total, on=extra.on)


def _rewired(planner: Planner, question: PathQuestion) -> Iterator[Cure]:
    """Let one harness or power kit that was laid earlier come out again."""
    bench = planner.desk.bench
    laid = {x.part for x in bench.present - bench.stock if bench.part(x).kind in RUN_KINDS}
    for part in sorted(laid - question.allowed_rewiring):
        plan = planner.plan(replace(question, allowed_rewiring=question.allowed_rewiring | {part}))
        if plan is not None:
            yield Cure(kind="rewire", about=part, total=plan.total)


def _left_out(planner: Planner, question: PathQuestion, conflicts: tuple[Conflict, ...]) -> Iterator[Cure]:
    """Go without one thing."""
    for want in _conflicting(question, conflicts) if len(question.wants) > 1 else ():
        plan: Plan | None = planner.plan(
            replace(question, wants=tuple(x for x in question.wants if x != want))
        )
        if plan is not None:
            yield Cure(kind="leave_out", about=about(want), total=plan.total)


def _conflicting(question: PathQuestion, conflicts: tuple[Conflict, ...]) -> list[Want]:
    named = {x.about for x in conflicts if x.kind == "want"}
    return [want for want in dict.fromkeys(question.wants) if about(want) in named]


def _with(question: PathQuestion, want: Want, other: Want) -> PathQuestion:
    return replace(question, wants=tuple(other if x == want else x for x in question.wants))
