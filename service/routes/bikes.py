"""Finding a bike, and what fits it."""

from __future__ import annotations

from functools import partial
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from service.dependencies import BikeId, ServingDep, TodayDep
from service.links import join, link
from service.problems import MALFORMED_REQUEST, UNKNOWN_BIKE, UNKNOWN_PLACE, declared
from service.representation import represent
from service.shapes.bikes import BikeAnswer, BikesAsked, BikesTold
from service.shapes.fitment import FittingPartsAsked, FittingTold
from service.storefront.answers import fit_row, page_told

router = APIRouter()


@router.get(
    "/v1/bikes",
    operation_id="list_bikes",
    summary="Bikes by maker, family, model year and trim",
    tags=["Find a bike"],
    response_model=BikesTold,
    responses=join(
        link("show_bike", bike="#/bikes/0/id"),
        link("list_fitting_parts", bike="#/bikes/0/id"),
        declared(MALFORMED_REQUEST),
    ),
)
def list_bikes(request: Request, asked: Annotated[BikesAsked, Query()], serving: ServingDep) -> Response:
    """In order of id.

    A bike with a `side` shares its name with others; ask for that name to get the question for the rider.
    """
    return represent(request, BikesTold.from_domain(asked.to_page(serving.catalog), serving))


@router.get(
    "/v1/bikes/{bike}",
    operation_id="show_bike",
    summary="One bike: locations, plugs, and how it left the works",
    tags=["Find a bike"],
    response_model=BikeAnswer,
    responses=join(
        link("list_fitting_parts", bike="#/id"),
        declared(MALFORMED_REQUEST, UNKNOWN_BIKE),
    ),
)
def show_bike(request: Request, bike: BikeId, serving: ServingDep) -> Response:
    """Every fact with its source and model years.

    A name that stands for several bikes is answered with what to ask the rider.
    """
    return represent(request, BikeAnswer.from_domain(serving.bike_name(bike), serving))


@router.get(
    "/v1/bikes/{bike}/parts",
    operation_id="list_fitting_parts",
    summary="Parts that fit a bike",
    tags=["Ask what fits"],
    response_model=FittingTold,
    responses=join(
        link("check_fit", bike="#/rows/0/bike", part="#/rows/0/part"),
        declared(MALFORMED_REQUEST, UNKNOWN_BIKE, UNKNOWN_PLACE),
    ),
)
def list_fitting_parts(
    request: Request,
    bike: BikeId,
    asked: Annotated[FittingPartsAsked, Query()],
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """On the bike as it left the works.

    Listed is what fits, alone or with more; name other verdicts to see them.
    """
    on = asked.on or today
    questions = asked.to_domain(serving.bike_name(bike), on, serving.catalog)
    page = asked.to_page(questions, partial(fit_row, serving=serving), lambda question: question.part)
    return represent(request, page_told(page, on, serving))
