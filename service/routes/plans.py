"""Saved plans: make, look up, change, plan anew, try out, write down what was done. All of it needs a key for sales."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING, Annotated, cast

from fastapi import APIRouter, Depends, Header, Path, Query, Request, Response
from pydantic import BaseModel

from rules.answer import NoPlan
from rules.release import ENGINE_REVISION
from service.access import SALES, SalesKey, office_of
from service.dependencies import JSON_BODY, ServingDep, TodayDep
from service.links import Responses, join, link
from service.plans.asking import answer_to, left_to_ask
from service.plans.recording import knows
from service.plans.saved import SavedPlan
from service.plans.standing import Standings
from service.plans.trouble import RevisionNeeded
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
from service.releasing.failures import Failure
from service.representation import reply
from service.serving import Serving
from service.shapes.installs import TestSheetAsked, VisitDoneAsked
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
from service.store.creation import creation_of
from service.store.errors import DamagedRelease

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.plans.keeper import Kept

router = APIRouter(tags=["Saved plans"])

PlanId = Annotated[str, Path(max_length=32, description="Id of a saved plan.")]
IfMatch = Annotated[
    str | None,
    Header(
        alias="If-Match",
        max_length=200,
        description="The ETag of the plan as you know it: if it is another one by then, nothing is done.",
    ),
]
IdempotencyKey = Annotated[
    str,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=200,
        description="A word of your own for this request: sent again with it, the same plan is given, and none is made.",
    ),
]
_TAG = re.compile(r'"([0-9]{1,10})"', re.ASCII)


def _standings(request: Request) -> Standings:
    if not hasattr(request.app.state, "standings"):
        request.app.state.standings = Standings()
    return cast("Standings", request.app.state.standings)


StandingsDep = Annotated[Standings, Depends(_standings)]


def pinned_for(request: Request, saved: SavedPlan, serving: Serving) -> Serving | None:
    """Give the release that a plan was made under; None if it cannot be read any more.

    Under another revision of the engine its catalog still has the names and prices of the plan; figures are then left out.
    """
    release, _, rest = saved.pinned.release.partition(".")
    _, *holds = rest.split(".")
    shelf = office_of(request).shelf
    for name in dict.fromkeys((saved.pinned.release, ".".join((release, str(ENGINE_REVISION), *holds)))):
        if name == serving.name:
            return serving
        try:
            found = shelf.find(name) or shelf.open(name)
        except (Failure, DamagedRelease):
            return None
        if found is not None:
            return found
    return None


def seen_revision(if_match: IfMatch = None) -> int:
    """Read which revision the caller has seen.

    Returns: One that no plan has, if the tag is none of ours.

    Raises:
        RevisionNeeded: There is no tag, or one that would fit any.
    """
    if if_match is None or if_match.strip() == "*":
        raise RevisionNeeded
    found = _TAG.fullmatch(if_match.strip())
    return int(found[1]) if found else 0


SeenRevision = Annotated[int, Depends(seen_revision)]

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


def _plan_reply(told: PlanAnswer, status: int = 200) -> Response:
    """Answer with a plan and the tag of its revision."""
    answer = reply(told, status)
    if told.saved is not None:
        answer.headers["ETag"] = f'"{told.saved.revision}"'
    return answer


def _asked(name: str, asked: BaseModel, plan: str = "") -> str:
    """Write what is asked in one fixed form, by which it is known again."""
    return json.dumps([name, plan, asked.model_dump(mode="json")], sort_keys=True)


def _kept_reply(request: Request, kept: Kept, serving: Serving) -> Response:
    pinned = pinned_for(request, kept.plan, serving)
    return _plan_reply(PlanAnswer.of_saved(kept.plan, pinned, serving), 201 if kept.is_new else 200)


def _saved_reply(request: Request, saved: SavedPlan, serving: Serving) -> Response:
    return _plan_reply(PlanAnswer.of_saved(saved, pinned_for(request, saved, serving), serving))


@router.post(
    "/v1/plans",
    operation_id="save_plan",
    summary="Plan, and save the plan",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(_MADE, _ASKS, declared(UNKNOWN_RIDER, KEY_USED), link("show_plan", plan="#/saved/id")),
)
def save_plan(
    request: Request,
    key: SalesKey,
    word: IdempotencyKey,
    asked: PlanSaveAsked,
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """201 with the plan; 200 if the same key had it saved before, or if there is no path: then nothing is saved."""
    keeper = office_of(request).keeper(key.name)
    question = asked.to_domain()
    creation = creation_of(key.id, word, _asked("save_plan", asked))
    kept = keeper.make(question, serving, today, creation, rider=asked.whose(), why=asked.why)
    if isinstance(kept, NoPlan):
        return reply(PlanAnswer.of_no_path(kept, question, serving))
    return _kept_reply(request, kept, serving)


@router.get(
    "/v1/plans",
    operation_id="list_plans",
    summary="Saved plans, the last that was changed first",
    response_model=PlansTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST), link("show_plan", plan="#/plans/0/id")
    ),
)
def list_plans(
    request: Request, key: SalesKey, asked: Annotated[PlansAsked, Query()], serving: ServingDep
) -> Response:
    """With their riders."""
    keeper = office_of(request).keeper(key.name)
    found = keeper.listed(asked.limit + 1, after=asked.after, bike=asked.bike, archived=asked.archived)
    return reply(PlansTold.from_domain(found, asked.limit, serving))


@router.post(
    "/v1/plan-searches",
    operation_id="find_plans",
    summary="Plans of a rider, by a piece of the name or the contact",
    dependencies=[SALES, JSON_BODY],
    response_model=PlansTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS), link("show_plan", plan="#/plans/0/id")
    ),
)
def find_plans(request: Request, key: SalesKey, asked: PlanSearchAsked, serving: ServingDep) -> Response:
    """Those that are put away, too. It is asked in a body, since addresses are written into logs."""
    keeper = office_of(request).keeper(key.name)
    found = keeper.listed(asked.limit + 1, text=asked.text)
    return reply(PlansTold.from_domain(found, asked.limit, serving))


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
def show_plan(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    serving: ServingDep,
    today: TodayDep,
    standings: StandingsDep,
) -> Response:
    """The ETag is that of its revision, and goes into `If-Match` of a change. `standing` is looked up at each asking."""
    keeper = office_of(request).keeper(key.name)
    saved = keeper.get(plan)
    standing = standings.of(saved, serving, today)
    return _plan_reply(PlanAnswer.of_saved(saved, pinned_for(request, saved, serving), serving, standing))


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
    request: Request,
    key: SalesKey,
    plan: PlanId,
    asked: Annotated[RevisionsAsked, Query()],
    serving: ServingDep,
) -> Response:
    """Nothing in it is ever changed."""
    keeper = office_of(request).keeper(key.name)
    found = keeper.history(plan, asked.limit + 1, asked.before)
    return reply(RevisionsTold.from_domain(plan, found, asked.limit, serving))


@router.get(
    "/v1/plans/{plan}/revisions/{number}",
    operation_id="show_plan_revision",
    summary="A plan as it was after one change",
    response_model=RevisionAnswer,
    responses=join(_LOOKS, declared(UNKNOWN_REVISION)),
)
def show_plan_revision(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    number: Annotated[int, Path(ge=1, le=2**31 - 1)],
    serving: ServingDep,
) -> Response:
    """Whole."""
    keeper = office_of(request).keeper(key.name)
    found = keeper.revision(plan, number)
    return reply(RevisionAnswer.from_domain(found, pinned_for(request, found.plan, serving), serving))


@router.post(
    "/v1/plans/{plan}/revisions",
    operation_id="plan_anew",
    summary="Plan what is left anew, from the bike as it is now, under today's catalog",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(_ASKS, _CHANGES),
)
def plan_anew(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    asked: PlanChangeAsked,
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """With whatever is to be otherwise; `{}` changes nothing but the catalog. Where there is no path, the plan stays as it is."""
    keeper = office_of(request).keeper(key.name)
    change = asked.to_domain()
    later = keeper.plan_anew(plan, seen, serving, today, change, asked.why)
    if isinstance(later, NoPlan):
        question = left_to_ask(keeper.get(plan), today, change)
        return reply(PlanAnswer.of_no_path(later, question, serving))
    return _saved_reply(request, later, serving)


@router.post(
    "/v1/plans/{plan}/what-ifs",
    operation_id="ask_what_if",
    summary="What would a change make of what is left of a plan?",
    dependencies=[SALES, JSON_BODY],
    response_model=WhatIfTold,
    responses=join(_ASKS, link("show_plan", plan="$request.path.plan")),
)
def ask_what_if(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    asked: PlanChangeAsked,
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """Another budget or day, a part kept or dropped, more at once, another fitter. Nothing is saved."""
    keeper = office_of(request).keeper(key.name)
    saved = keeper.get(plan)
    question = left_to_ask(saved, today, asked.to_domain())
    return reply(WhatIfTold.from_domain(saved, answer_to(saved, question, serving, cured=True), serving))


@router.post(
    "/v1/plans/{plan}/visits-done",
    operation_id="record_visit",
    summary="Write down a visit as it was done",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(_ASKS, _CHANGES),
)
def record_visit(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    asked: VisitDoneAsked,
    serving: ServingDep,
) -> Response:
    """What was really fitted and paid, with serial numbers and presets. What is left out was as planned."""
    keeper = office_of(request).keeper(key.name)
    saved = keeper.get(plan)
    done = asked.to_domain(saved)
    # What was planned under an older release is fitted even if today's catalog does not have it any more.
    pinned = pinned_for(request, saved, serving)
    known = serving if pinned is None or knows(serving, done) else pinned
    return _saved_reply(request, keeper.visit_done(plan, seen, done, known, asked.why), serving)


@router.post(
    "/v1/plans/{plan}/test-sheets",
    operation_id="record_test_sheet",
    summary="Keep the test sheet of a visit that was done",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(_CHANGES, declared(UNKNOWN_VISIT)),
)
def record_test_sheet(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    asked: TestSheetAsked,
    serving: ServingDep,
) -> Response:
    """One that is there already is replaced, and stays in the history."""
    keeper = office_of(request).keeper(key.name)
    later = keeper.tested(plan, seen, asked.visit, asked.to_domain())
    return _saved_reply(request, later, serving)


@router.post(
    "/v1/plans/{plan}/moves",
    operation_id="move_plan",
    summary="Plan for the next bike with the parts of this one",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(_MADE, _ASKS, _CHANGES, declared(KEY_USED)),
)
def move_plan(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    word: IdempotencyKey,
    asked: PlanMoveAsked,
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """201 with a new plan, and the old one is put away, both or neither. 200 if there is no way, or it was done before."""
    keeper = office_of(request).keeper(key.name)
    change = asked.to_domain()
    creation = creation_of(key.id, word, _asked("move_plan", asked, plan))
    kept = keeper.move(plan, seen, asked.next_bike, serving, today, creation, change=change, why=asked.why)
    if isinstance(kept, NoPlan):
        question = left_to_ask(keeper.get(plan), today)
        return reply(PlanAnswer.of_no_path(kept, question, serving))
    return _kept_reply(request, kept, serving)


@router.post(
    "/v1/plans/{plan}/duplicates",
    operation_id="duplicate_plan",
    summary="Save a plan again as it was planned",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=join(
        _MADE,
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_PLAN, KEY_USED),
        link("show_plan", plan="#/saved/id"),
    ),
)
def duplicate_plan(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    word: IdempotencyKey,
    asked: DuplicateAsked,
    serving: ServingDep,
) -> Response:
    """Without visits done, rider and links. 201, or 200 if it was done before."""
    keeper = office_of(request).keeper(key.name)
    creation = creation_of(key.id, word, _asked("duplicate_plan", asked, plan))
    return _kept_reply(request, keeper.duplicate(plan, creation, asked.why), serving)


@router.post(
    "/v1/plans/{plan}/archive",
    operation_id="archive_plan",
    summary="Put a plan away, or take it up again",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=_CHANGES,
)
def archive_plan(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    asked: ArchiveAsked,
    serving: ServingDep,
) -> Response:
    """What is put away is not changed until it is taken up; links to it still work."""
    keeper = office_of(request).keeper(key.name)
    later = keeper.archive(plan, seen, away=asked.away, why=asked.why)
    return _saved_reply(request, later, serving)


@router.post(
    "/v1/plans/{plan}/rider",
    operation_id="name_rider",
    summary="Write down whose plan it is",
    dependencies=[SALES, JSON_BODY],
    response_model=PlanAnswer,
    responses=_CHANGES,
)
def name_rider(
    request: Request,
    key: SalesKey,
    plan: PlanId,
    seen: SeenRevision,
    asked: RiderAsked,
    serving: ServingDep,
) -> Response:
    """Or what is otherwise known of its rider now. The history tells that it was done, and nothing personal."""
    keeper = office_of(request).keeper(key.name)
    return _saved_reply(request, keeper.name_rider(plan, seen, asked.to_domain()), serving)
