"""What now and what later, for the least money, with nothing rewired?"""

from __future__ import annotations

from fastapi import APIRouter, Response

from service.dependencies import JSON_BODY, ServingDep
from service.links import join, link
from service.problems import (
    BODY_PROBLEMS,
    MALFORMED_QUESTION,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    declared,
)
from service.representation import reply
from service.shapes.paths import PathAsked, PathTold

router = APIRouter(tags=["Plan the visits"])


@router.post(
    "/v1/paths",
    operation_id="plan_path",
    summary="The cheapest way to what is wanted, over dated visits",
    dependencies=[JSON_BODY],
    response_model=PathTold,
    responses=join(
        link("show_bike", bike="#/bike"),
        declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
    ),
)
def plan_path(asked: PathAsked, serving: ServingDep) -> Response:
    """A plan with its proof, or, with status 200 as well, the demands that stand in the way."""
    question = asked.to_domain()
    return reply(PathTold.from_domain(serving.engine.path(question), question, serving))
