"""From what a rider tells to whole systems."""

from __future__ import annotations

from fastapi import APIRouter, Response

from rules.proposals import propose
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
from service.shapes.proposals import BriefAsked, ProposalsTold

router = APIRouter(tags=["Propose systems"])


@router.post(
    "/v1/proposals",
    operation_id="propose_systems",
    summary="Up to three whole systems that differ, from what a rider tells",
    dependencies=[JSON_BODY],
    response_model=ProposalsTold,
    responses=join(
        link("show_bike", bike="#/bike"),
        declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
    ),
)
def propose_systems(asked: BriefAsked, serving: ServingDep) -> Response:
    """Each with its cheapest way, what stays, and reasons; or what must be asked first. It takes as long as up to five paths."""
    brief = asked.to_domain()
    return reply(ProposalsTold.from_domain(propose(serving.engine, brief), brief, serving))
