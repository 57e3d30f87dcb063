"""What does the way to the next bike come to, with the parts that there are?"""

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
from service.shapes.next_bikes import NextBikeAsked, NextBikeTold

router = APIRouter(tags=["Carry over"])


@router.post(
    "/v1/next-bikes",
    operation_id="plan_next_bike",
    summary="The cheapest way to the same zones on the next bike with the own parts, beside selling them all and starting new",
    dependencies=[JSON_BODY],
    response_model=NextBikeTold,
    responses=join(
        link("show_bike", bike="#/next_bike"),
        declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
    ),
)
def plan_next_bike(asked: NextBikeAsked, serving: ServingDep) -> Response:
    """Both ways with their plans and money, and each part with its answer. This takes several times as long as one plan."""
    question = asked.to_domain()
    return reply(NextBikeTold.from_domain(serving.engine.next_bike(question), question, serving))
