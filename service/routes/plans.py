"""Saved plans: make, look up, change, plan anew, try out, write down what was done. All of it needs a key for sales."""

from __future__ import annotations

import json
from functools import partial
from typing import TYPE_CHECKING, Annotated

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel

from rules.answer import NoPlan
from rules.question import PathQuestion
from service.access import SALES
from service.dependencies import JSON_BODY
from service.links import Responses, join, link
from service.plans.asking import answer_to, left_to_ask
from service.plans.saved import SavedPlan
from service.plans.standing import Standing
from service.problems import (
    BODY_PROBLEMS,
    KEY_PROBLEMS,
    KEY_USED,
    MALFORMED_QUESTION,
    MALFORMED_REQUEST,
    PLAN_ARCHIVED,
    PLAN_CHANGED,
    REVISION_NEEDED,
    STORE_PROBLEMS,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    UNKNOWN_PLAN,
    UNKNOWN_REVISION,
    UNKNOWN_RIDER,
    UNKNOWN_VISIT,
    declared,
)
from service.representation import reply
from service.routes.counter import Counter, CounterDep, IdempotencyKey, PlanId, SeenRevision
from service.shapes.installs import TestSheetAsked, VisitCorrectionAsked, VisitDoneAsked
from service.shapes.plans import (
    ArchiveAsked,
    DuplicateAsked,
    PlanAnswer,
    PlanChangeAsked,
    PlanMoveAsked,
    PlansAsked,
    PlanSaveAsked,
    PlanSearchAsked,
    PlansTold,
    RevisionAnswer,
    RevisionsAsked,
    RevisionsTold,
    RiderAsked,
    WhatIfTold,
)
from service.store.creation import Creation, creation_of

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.plans.keeper import Kept

router = APIRouter(tags=["Saved plans"])
_post = partial(router.post, dependencies=[SALES, JSON_BODY])
_change = partial(_post, response_model=PlanAnswer)

_LOOKS: Responses = declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_PLAN)
_ASKS: Responses = declared(
    *KEY_PROBLEMS,
    *STORE_PROBLEMS,
    *BODY_PROBLEMS,
    MALFORMED_QUESTION,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    UNKNOWN_PLAN,
)
_CHANGES: Responses = join(
    declared(
        *KEY_PROBLEMS,
        *STORE_PROBLEMS,
        *BODY_PROBLEMS,
        UNKNOWN_PLAN,
        PLAN_CHANGED,
        PLAN_ARCHIVED,
        REVISION_NEEDED,
    ),
    link("show_plan", plan="#/saved/id"),
)
_MADE: Responses = {201: {"model": PlanAnswer, "description": "It is saved."}}


def _creation(counter: Counter, word: str, name: str, asked: BaseModel, plan: str = "") -> Creation:
    """Write what is asked in one fixed form, by which it is known again."""
    told = json.dumps([name, plan, asked.model_dump(mode="json")], sort_keys=True)
    return creation_of(counter.key, word, told)


def _saved(
    counter: Counter, saved: SavedPlan, status: int = 200, standing: Standing | None = None
) -> Response:
    """Answer with a plan and the tag of its revision."""
    told = PlanAnswer.of_saved(saved, counter.pinned(saved), counter.serving, standing)
    answer = reply(told, status)
    answer.headers["ETag"] = f'"{saved.revision}"'
    return answer


def _kept(counter: Counter, kept: Kept) -> Response:
    return _saved(counter, kept.plan, 201 if kept.is_new else 200)


def _no_path(counter: Counter, answer: NoPlan, question: PathQuestion) -> Response:
    return reply(PlanAnswer.of_no_path(answer, question, counter.serving))


@_change(
    "/v1/plans",
    operation_id="save_plan",
    summary="Plan, and save the plan",
    responses=join(_MADE, _ASKS, declared(UNKNOWN_RIDER, KEY_USED), link("show_plan", plan="#/saved/id")),
)
def save_plan(counter: CounterDep, word: IdempotencyKey, asked: PlanSaveAsked) -> Response:
    """201 with the plan; 200 if the same key had it saved before, or if there is no path: then nothing is saved."""
    question = asked.to_domain()
    creation = _creation(counter, word, "save_plan", asked)
    kept = counter.keeper.make(
        question, counter.serving, counter.today, creation, rider=asked.whose(), why=asked.why
    )
    if isinstance(kept, NoPlan):
        return _no_path(counter, kept, question)
    return _kept(counter, kept)


@router.get(
    "/v1/plans",
    operation_id="list_plans",
    summary="Saved plans, the last that was changed first",
    response_model=PlansTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST), link("show_plan", plan="#/plans/0/id")
    ),
)
def list_plans(counter: CounterDep, asked: Annotated[PlansAsked, Query()]) -> Response:
    """With their riders."""
    found = counter.keeper.listed(
        asked.limit + 1, after=asked.after, bike=asked.bike, archived=asked.archived
    )
    return reply(PlansTold.from_domain(found, asked.limit, counter.serving))


@_post(
    "/v1/plan-searches",
    operation_id="find_plans",
    summary="Plans of a rider, by a piece of the name or the contact",
    response_model=PlansTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS), link("show_plan", plan="#/plans/0/id")
    ),
)
def find_plans(counter: CounterDep, asked: PlanSearchAsked) -> Response:
    """Those that are put away, too. It is asked in a body, since addresses are written into logs."""
    found = counter.keeper.listed(asked.limit + 1, text=asked.text)
    return reply(PlansTold.from_domain(found, asked.limit, counter.serving))


@router.get(
    "/v1/plans/{plan}",
    operation_id="show_plan",
    summary="One saved plan, and what has become of it",
    response_model=PlanAnswer,
    responses=join(
        _LOOKS,
        link("list_plan_revisions", plan="$request.path.plan"),
        link("list_shares", plan="$request.path.plan"),
    ),
)
def show_plan(counter: CounterDep, plan: PlanId) -> Response:
    """The ETag is that of its revision, and goes into `If-Match` of a change. `standing` is looked up at each asking."""
    saved = counter.keeper.get(plan)
    return _saved(counter, saved, standing=counter.standing(saved))


@router.get(
    "/v1/plans/{plan}/revisions",
    operation_id="list_plan_revisions",
    summary="Everything that happened to a plan, the newest first",
    response_model=RevisionsTold,
    responses=join(
        _LOOKS, link("show_plan_revision", plan="$request.path.plan", number="#/revisions/0/number")
    ),
)
def list_plan_revisions(
    counter: CounterDep, plan: PlanId, asked: Annotated[RevisionsAsked, Query()]
) -> Response:
    """Nothing in it is ever changed."""
    found = counter.keeper.history(plan, asked.limit + 1, asked.before)
    return reply(RevisionsTold.from_domain(plan, found, asked.limit, counter.serving))


@router.get(
    "/v1/plans/{plan}/revisions/{number}",
    operation_id="show_plan_revision",
    summary="A plan as it was after one change",
    response_model=RevisionAnswer,
    responses=join(_LOOKS, declared(UNKNOWN_REVISION)),
)
def show_plan_revision(
    counter: CounterDep, plan: PlanId, number: Annotated[int, Path(ge=1, le=2**31 - 1)]
) -> Response:
    """Whole."""
    found = counter.keeper.revision(plan, number)
    return reply(RevisionAnswer.from_domain(found, counter.pinned(found.plan), counter.serving))


@_change(
    "/v1/plans/{plan}/revisions",
    operation_id="plan_anew",
    summary="Plan what is left anew, from the bike as it is now, under today's catalog",
    responses=join(_ASKS, _CHANGES),
)
def plan_anew(counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: PlanChangeAsked) -> Response:
    """With whatever is to be otherwise; `{}` changes nothing but the catalog. Where there is no path, the plan stays as it is."""
    change = asked.to_domain()
    later = counter.keeper.plan_anew(plan, seen, counter.serving, counter.today, change, asked.why)
    if isinstance(later, NoPlan):
        question = left_to_ask(counter.keeper.get(plan), counter.today, change)
        return _no_path(counter, later, question)
    return _saved(counter, later)


@_post(
    "/v1/plans/{plan}/what-ifs",
    operation_id="ask_what_if",
    summary="What would a change make of what is left of a plan?",
    response_model=WhatIfTold,
    responses=join(_ASKS, link("show_plan", plan="$request.path.plan")),
)
def ask_what_if(counter: CounterDep, plan: PlanId, asked: PlanChangeAsked) -> Response:
    """Another budget or day, a part kept or dropped, more at once, another fitter. Nothing is saved."""
    saved = counter.keeper.get(plan)
    question = left_to_ask(saved, counter.today, asked.to_domain())
    return reply(
        WhatIfTold.from_domain(
            saved, answer_to(saved, question, counter.serving, cured=True), counter.serving
        )
    )


@_change(
    "/v1/plans/{plan}/visits-done",
    operation_id="record_visit",
    summary="Write down a visit as it was done",
    responses=join(_ASKS, _CHANGES),
)
def record_visit(counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: VisitDoneAsked) -> Response:
    """What was really fitted and paid, with serial numbers and presets. What is left out was as planned."""
    saved = counter.keeper.get(plan)
    done = asked.to_domain(saved)
    known = counter.knowing(saved, done)
    return _saved(counter, counter.keeper.visit_done(plan, seen, done, known, asked.why))


@_change(
    "/v1/plans/{plan}/visit-corrections",
    operation_id="correct_visit",
    summary="Put right what was written down of a visit",
    responses=join(_ASKS, _CHANGES, declared(UNKNOWN_VISIT)),
)
def correct_visit(
    counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: VisitCorrectionAsked
) -> Response:
    """What was written before stays in the history. What was planned upon it stays, too, and `standing` tells what became of it."""
    saved = counter.keeper.get(plan)
    recorded = saved.visit_done(asked.number)
    if asked.never_done:
        known = counter.knowing(saved, recorded)
        return _saved(counter, counter.keeper.take_back(plan, seen, asked.number, known, asked.why))
    done = asked.to_domain(recorded)
    known = counter.knowing(saved, done)
    return _saved(counter, counter.keeper.correct(plan, seen, asked.number, done, known, asked.why))


@_change(
    "/v1/plans/{plan}/test-sheets",
    operation_id="record_test_sheet",
    summary="Keep the test sheet of a visit that was done",
    responses=join(_CHANGES, declared(UNKNOWN_VISIT)),
)
def record_test_sheet(
    counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: TestSheetAsked
) -> Response:
    """One that is there already is replaced, and stays in the history."""
    later = counter.keeper.tested(plan, seen, asked.visit, asked.to_domain())
    return _saved(counter, later)


@_change(
    "/v1/plans/{plan}/moves",
    operation_id="move_plan",
    summary="Plan for the next bike with the parts of this one",
    responses=join(_MADE, _ASKS, _CHANGES, declared(KEY_USED)),
)
def move_plan(
    counter: CounterDep, plan: PlanId, seen: SeenRevision, word: IdempotencyKey, asked: PlanMoveAsked
) -> Response:
    """201 with a new plan, and the old one is put away, both or neither. 200 if there is no way, or it was done before."""
    change = asked.to_domain()
    creation = _creation(counter, word, "move_plan", asked, plan)
    kept = counter.keeper.move(
        plan, seen, asked.next_bike, counter.serving, counter.today, creation, change=change, why=asked.why
    )
    if isinstance(kept, NoPlan):
        question = left_to_ask(counter.keeper.get(plan), counter.today)
        return _no_path(counter, kept, question)
    return _kept(counter, kept)


@_change(
    "/v1/plans/{plan}/duplicates",
    operation_id="duplicate_plan",
    summary="Save a plan again as it was planned",
    responses=join(
        _MADE,
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_PLAN, KEY_USED),
        link("show_plan", plan="#/saved/id"),
    ),
)
def duplicate_plan(
    counter: CounterDep, plan: PlanId, word: IdempotencyKey, asked: DuplicateAsked
) -> Response:
    """Without visits done, rider and links. 201, or 200 if it was done before."""
    creation = _creation(counter, word, "duplicate_plan", asked, plan)
    return _kept(counter, counter.keeper.duplicate(plan, creation, asked.why))


@_change(
    "/v1/plans/{plan}/archive",
    operation_id="archive_plan",
    summary="Put a plan away, or take it up again",
    responses=_CHANGES,
)
def archive_plan(counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: ArchiveAsked) -> Response:
    """What is put away is not changed until it is taken up; links to it still work."""
    later = counter.keeper.archive(plan, seen, away=asked.away, why=asked.why)
    return _saved(counter, later)


@_change(
    "/v1/plans/{plan}/rider",
    operation_id="name_rider",
    summary="Write down whose plan it is",
    responses=_CHANGES,
)
def name_rider(counter: CounterDep, plan: PlanId, seen: SeenRevision, asked: RiderAsked) -> Response:
    """Or what is otherwise known of its rider now. The history tells that it was done, and nothing personal."""
    return _saved(counter, counter.keeper.name_rider(plan, seen, asked.to_domain()))
