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
from service.shapes.alternatives import PathAlternativesTold
from service.shapes.paths import PathAsked, PathTold
from service.shapes.reasons import PathReasonsTold

router = APIRouter(tags=["Plan the visits"])


_PROBLEMS = join(
    link("show_bike", bike="#/bike"),
    declared(*BODY_PROBLEMS, MALFORMED_QUESTION, UNKNOWN_BIKE, UNKNOWN_PART, UNKNOWN_PLACE),
)


@router.post(
    "/v1/paths",
    operation_id="plan_path",
    summary="The cheapest way to what is wanted, over dated visits",
    dependencies=[JSON_BODY],
    response_model=PathTold,
    responses=_PROBLEMS,
)
def plan_path(asked: PathAsked, serving: ServingDep) -> Response:
    """A plan with its proof, or, with status 200 as well, the demands in the way and single changes that make a path."""
    question = asked.to_domain()
    return reply(PathTold.from_domain(serving.engine.cured(question), question, serving))


@router.post(
    "/v1/path-alternatives",
    operation_id="compare_paths",
    summary="The cheapest way, others that are better in something, and what other budgets would change",
    dependencies=[JSON_BODY],
    response_model=PathAlternativesTold,
    responses=_PROBLEMS,
)
def compare_paths(asked: PathAsked, serving: ServingDep) -> Response:
    """At most four other plans, each with what is better in it and by how much. This takes several times as long as one plan."""
    question = asked.to_domain()
    answer = serving.engine.alternatives(question)
    return reply(PathAlternativesTold.of_answer(answer, question, serving))


@router.post(
    "/v1/path-reasons",
    operation_id="explain_path",
    summary="The cheapest way, why each part comes when it does, and what other choices would cost",
    dependencies=[JSON_BODY],
    response_model=PathReasonsTold,
    responses=_PROBLEMS,
)
def explain_path(asked: PathAsked, serving: ServingDep) -> Response:
    """Each purchase left out, or moved to another visit, and reckoned anew. This takes several times as long as one plan."""
    question = asked.to_domain()
    answer = serving.engine.reasons(question)
    return reply(PathReasonsTold.of_answer(answer, question, serving))
