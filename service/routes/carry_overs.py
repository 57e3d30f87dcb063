"""What goes on to the next bike?"""

from __future__ import annotations

from fastapi import APIRouter, Response

from service.dependencies import JSON_BODY, ServingDep, TodayDep
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
from service.shapes.carry_overs import CarryOverAsked, CarryOverTold

router = APIRouter(tags=["Carry over"])


@router.post(
    "/v1/carry-overs",
    operation_id="carry_over",
    summary="Which parts go on to the next bike, and how?",
    dependencies=[JSON_BODY],
    response_model=CarryOverTold,
    responses=join(
        link("show_bike", bike="#/next_bike"),
        declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
    ),
)
def carry_over(asked: CarryOverAsked, serving: ServingDep, today: TodayDep) -> Response:
    """Each part that is not stock, with its answer, its adapters, and what it would fetch used."""
    question = asked.to_domain(today)
    return reply(CarryOverTold.from_domain(serving.engine.carry_over(question), question, serving))
