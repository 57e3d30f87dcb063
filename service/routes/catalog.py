"""Which catalog answers."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from service.dependencies import ServingDep, TodayDep
from service.links import link
from service.representation import represent
from service.shapes.catalog import CatalogTold

router = APIRouter(tags=["Find a bike"])


@router.get(
    "/v1/catalog",
    operation_id="show_catalog",
    summary="Which catalog answers, and what it holds",
    response_model=CatalogTold,
    responses=link("list_bikes", family="#/families/0/id"),
)
def show_catalog(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Release, shop, counts, families with model years and trims, places, and price lists with their days."""
    return represent(request, CatalogTold.from_domain(serving, today))
