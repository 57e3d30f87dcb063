"""Does a part fit a bike: at an address of its own, pinned for ever, or many at once."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from rules.errors import LoomwayError
from rules.question import FitQuestion
from service.dependencies import JSON_BODY, BikeId, NamedServingDep, OnDay, PartId, ServingDep, TodayDep
from service.links import join, link
from service.problems import (
    BODY_PROBLEMS,
    MALFORMED_REQUEST,
    STORE_PROBLEMS,
    UNKNOWN_BIKE,
    UNKNOWN_PART,
    UNKNOWN_PLACE,
    UNKNOWN_RELEASE,
    declared,
    problem_of,
)
from service.representation import IMMUTABLE, REVALIDATE, UNCHANGED, reply, represent
from service.serving import Serving
from service.shapes.fitment import (
    FitAsked,
    FitChecksAsked,
    FitChecksTold,
    FitCheckTold,
    FitQuestionAsked,
    FitResponse,
    PinnedFitAsked,
)
from service.storefront.answers import check_told, checks_told, fit_recipe, fit_response, fit_told

router = APIRouter(tags=["Ask what fits"])


@router.get(
    "/v1/fitment/{bike}/{part}",
    operation_id="check_fit",
    summary="Does this part fit this bike, and what does it take?",
    response_model=FitResponse,
    responses=join(
        UNCHANGED,
        declared(MALFORMED_REQUEST, UNKNOWN_PLACE, UNKNOWN_BIKE, UNKNOWN_PART),
        link("show_part", part="#/answer/part"),
        link("show_bike", bike="#/answer/bike"),
        link(
            "check_pinned_fit",
            release="#/release/name",
            bike="#/answer/bike",
            part="#/answer/part",
            on="#/answer/on",
        ),
    ),
)
def check_fit(
    request: Request,
    bike: BikeId,
    part: PartId,
    asked: Annotated[FitAsked, Query()],
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """On the bike as it left the works.

    "Does not fit" and "not verified" are answers, with status 200 and their reasons.
    """
    question = asked.to_domain(bike, part, asked.on or today)
    return represent(request, _fit(question, serving), REVALIDATE)


@router.get(
    "/v1/releases/{release}/fitment/{bike}/{part}/{on}",  # noqa: FAST003 -- NamedServingDep takes the release
    operation_id="check_pinned_fit",
    summary="The same, pinned to a release and a day: this answer never changes",
    response_model=FitResponse,
    responses=join(
        UNCHANGED,
        declared(
            *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_PLACE, UNKNOWN_RELEASE, UNKNOWN_BIKE, UNKNOWN_PART
        ),
    ),
)
def check_pinned_fit(
    request: Request,
    bike: BikeId,
    part: PartId,
    on: OnDay,
    asked: Annotated[PinnedFitAsked, Query()],
    serving: NamedServingDep,
) -> Response:
    """Any cache may keep it. `pinned` of every answer is such an address, and keeps its answer under later releases."""
    return represent(request, _fit(asked.to_domain(bike, part, on), serving), IMMUTABLE)


def _fit(question: FitQuestion, serving: Serving) -> bytes:
    recipe = fit_recipe(question, serving)
    return fit_response(recipe, question.on, serving, question.fitter, question.place)


@router.post(
    "/v1/fitment-checks",
    operation_id="check_fits",
    summary="Many parts and bikes at once, each bike as it was found",
    dependencies=[JSON_BODY],
    response_model=FitChecksTold,
    responses=declared(*BODY_PROBLEMS),
)
def check_fits(asked: FitChecksAsked, serving: ServingDep, today: TodayDep) -> Response:
    """Answers in the order of the questions, all from one release.

    An unknown id spoils its own question only.
    """
    results = [
        _check(index, question, question.to_domain(today), serving)
        for index, question in enumerate(asked.questions)
    ]
    return reply(checks_told(results, serving))


def _check(index: int, asked: FitQuestionAsked, question: FitQuestion, serving: Serving) -> bytes:
    try:
        recipe = fit_recipe(question, serving)
    except LoomwayError as error:
        body = {"questions": {index: asked.model_dump()}}
        problem = problem_of(error, {"body": body}, serving.name, f"/body/questions/{index}")
        return FitCheckTold(status=problem.status, answer=None, problem=problem).model_dump_json().encode()
    return check_told(fit_told(recipe, question, serving))
