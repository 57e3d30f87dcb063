"""Holds: stop selling a part at once, whatever release is served, and sell it again."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from rules.errors import MalformedQuestion
from service.access import CATALOG, CatalogKey, office_of
from service.dependencies import JSON_BODY, ServingDep, TodayDep, serving_now
from service.problems import (
    BODY_PROBLEMS,
    KEY_PROBLEMS,
    MALFORMED_QUESTION,
    OVERTAKEN,
    STORE_PROBLEMS,
    UNKNOWN_HOLD,
    UNKNOWN_PART,
    declared,
)
from service.representation import reply
from service.shapes.releases import EventAnswer, HoldAsked, HoldsTold, LiftAsked

router = APIRouter(tags=["Release a catalog"])


@router.get(
    "/v1/holds",
    operation_id="list_holds",
    summary="Parts that are not sold at present, by order of a manager",
    response_model=HoldsTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS),
)
def list_holds(request: Request, key: CatalogKey, serving: ServingDep) -> Response:
    """Besides those that the catalog has in its rules."""
    standing = office_of(request).manager(key.name).history.standing()
    return reply(HoldsTold.from_domain(standing, serving))


@router.post(
    "/v1/holds",
    operation_id="hold_part",
    summary="Stop selling a part at once",
    dependencies=[CATALOG, JSON_BODY],
    response_model=EventAnswer,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_PART),
)
def hold_part(
    request: Request, key: CatalogKey, asked: HoldAsked, serving: ServingDep, today: TodayDep
) -> Response:
    """Under this release and all later ones, until the hold is lifted or its last day is over."""
    office, first = office_of(request), asked.first or today
    if asked.last is not None and asked.last < first:
        raise MalformedQuestion("last", "the last day is before the first", "give a later last day")
    part = serving.part(asked.part).id
    event = office.manager(key.name).hold(part, asked.says, first, asked.last)
    office.follower.follow(at_once=True)
    return reply(EventAnswer.from_domain(event, serving_now(request)))


@router.post(
    "/v1/lifted-holds",
    operation_id="lift_hold",
    summary="Sell a part again",
    dependencies=[CATALOG, JSON_BODY],
    response_model=EventAnswer,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_HOLD, OVERTAKEN),
)
def lift_hold(request: Request, key: CatalogKey, asked: LiftAsked) -> Response:
    """Unless the catalog's own rules hold it too."""
    office = office_of(request)
    event = office.manager(key.name).lift(asked.hold, asked.why)
    office.follower.follow(at_once=True)
    return reply(EventAnswer.from_domain(event, serving_now(request)))
