"""Looking at parts, and the bikes that they fit."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from service.dependencies import PartId, ServingDep, TodayDep
from service.links import join, link
from service.problems import MALFORMED_REQUEST, UNKNOWN_PART, declared
from service.representation import represent
from service.shapes.fitment import FittingBikesAsked, FittingTold
from service.shapes.parts import PartAnswer, PartsAsked, PartsTold
from service.storefront.answers import fit_row, page_told

router = APIRouter()


@router.get(
    "/v1/parts",
    operation_id="list_parts",
    summary="Parts by kind, line, maker and slot",
    tags=["Look at parts"],
    response_model=PartsTold,
    responses=join(
        link("show_part", part="#/parts/0/id"),
        link("list_fitting_bikes", part="#/parts/0/id"),
        declared(MALFORMED_REQUEST),
    ),
)
def list_parts(request: Request, asked: Annotated[PartsAsked, Query()], serving: ServingDep) -> Response:
    """In order of id."""
    return represent(request, PartsTold.from_domain(asked.to_page(serving.catalog), serving))


@router.get(
    "/v1/parts/{part}",
    operation_id="show_part",
    summary="One part: figures, plugs and channels",
    tags=["Look at parts"],
    response_model=PartAnswer,
    responses=join(
        link("list_fitting_bikes", part="#/part/id"),
        declared(MALFORMED_REQUEST, UNKNOWN_PART),
    ),
)
def show_part(request: Request, part: PartId, serving: ServingDep) -> Response:
    """Every figure with its unit in the name, and the source of them all."""
    return represent(request, PartAnswer.from_domain(serving.part(part), serving))


@router.get(
    "/v1/parts/{part}/bikes",
    operation_id="list_fitting_bikes",
    summary="Bikes that a part fits",
    tags=["Ask what fits"],
    response_model=FittingTold,
    responses=join(
        link("check_fit", bike="#/rows/0/bike", part="#/rows/0/part"),
        declared(MALFORMED_REQUEST, UNKNOWN_PART),
    ),
)
def list_fitting_bikes(
    request: Request,
    part: PartId,
    asked: Annotated[FittingBikesAsked, Query()],
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """Bikes as they left the works.

    Listed is where it fits, alone or with more; name other verdicts to see them.
    """
    on = asked.on or today
    questions = asked.to_domain(serving.part(part).id, on, serving.catalog)
    page = asked.to_page(questions, partial(fit_row, serving=serving), lambda question: question.bike)
    return represent(request, page_told(page, on, serving))
