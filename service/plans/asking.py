"""What is left of a saved plan as a question, and its answer under the release that is served now. Nothing is saved."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date

from rules.answer import NoPlan, Plan
from rules.done import NO_CHANGE, PlanChange, question_from_there
from rules.errors import MalformedQuestion
from rules.question import NextBikeQuestion, PathQuestion, Stage
from service.plans.saved import Moved, SavedPlan
from service.serving import Serving


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """A question with its answer; of a plan that was moved, with the own parts that come along in it."""

    question: PathQuestion
    plan: Plan | NoPlan
    moved: Moved | None = None


def left_to_ask(saved: SavedPlan, today: date, change: PlanChange = NO_CHANGE) -> PathQuestion:
    """Give what is left of a plan as a question, with a change."""
    question = replace(saved.question, found=saved.found_then)
    return question_from_there(question, saved.done_here, today, change)


def answer_to(saved: SavedPlan, question: PathQuestion, serving: Serving, *, cured: bool = False) -> Answer:
    """Answer what is left of a plan: a plan that was moved may use the parts of the bike before.

    Args:
        cured: Say of no path which single changes make one.

    Raises:
        MalformedQuestion: Parts of the bike before are not all fitted, though a visit is done: nobody knows where they are.
    """
    if saved.moved is None or not _waiting(saved):
        plan = serving.engine.cured(question) if cured else serving.engine.path(question)
        return Answer(question=question, plan=plan, moved=saved.moved)
    if saved.done:
        raise MalformedQuestion(
            "visit",
            "parts of the bike before are still to be fitted on this one",
            "write down the visits that bring them, then plan anew",
        )
    return _over_from(saved.moved, question, serving)


def _waiting(saved: SavedPlan) -> bool:
    """Tell whether own parts of the bike before may still be fitted."""
    assert saved.moved is not None  # noqa: S101 -- the caller has looked
    fitted = {entry.placement.part for entry in saved.found_now.fitted}
    return not saved.done or any(placed.part not in fitted for placed in saved.moved.own)


def _over_from(moved: Moved, question: PathQuestion, serving: Serving) -> Answer:
    asked = NextBikeQuestion(
        bike=moved.bike,
        next_bike=question.bike,
        stages=question.stages,
        wants=question.wants,
        found=moved.found,
    )
    answer = serving.engine.next_bike(asked)
    if answer.plan is None:
        reason = NoPlan(reason="not_verified" if answer.ask else "conflict", ask=answer.ask)
        return Answer(question=question, plan=reason, moved=moved)
    later = replace(moved, own=answer.own, sold=answer.sold, fetched=answer.fetched)
    return Answer(question=question, plan=answer.plan, moved=later)


def next_bike_question(
    saved: SavedPlan, next_bike: str, today: date, change: PlanChange = NO_CHANGE
) -> NextBikeQuestion:
    """Give the question of what a rider's parts do on another bike. Left out: one visit today, and the same zones as now."""
    stages = change.stages or (Stage(on=today, fitter=change.fitter or saved.question.stages[0].fitter),)
    return NextBikeQuestion(
        bike=saved.bike,
        next_bike=next_bike,
        stages=stages,
        wants=change.wants or (),
        found=saved.found_now,
    )
