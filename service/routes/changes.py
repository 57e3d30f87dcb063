"""What a shop that keeps answers must ask again after a release."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from service.dependencies import ServingDep, TodayDep
from service.links import join, link
from service.problems import MALFORMED_REQUEST, RELEASE_GONE, STORE_PROBLEMS, declared
from service.representation import UNCHANGED, represent
from service.serving import ReleaseGone, Serving
from service.shapes.changes import ChangesAsked, ChangesTold

router = APIRouter(tags=["Ask what fits"])


@router.get(
    "/v1/changes",
    operation_id="list_changes",
    summary="Which answers that you keep from an older release may be stale?",
    response_model=ChangesTold,
    responses=join(
        UNCHANGED,
        declared(*STORE_PROBLEMS, MALFORMED_REQUEST, RELEASE_GONE),
        link("list_fitting_parts", bike="#/rows/0/bike"),
    ),
)
def list_changes(
    request: Request, asked: Annotated[ChangesAsked, Query()], serving: ServingDep, today: TodayDep
) -> Response:
    """Too many rather than too few: about what is not listed, lists and exports say what they said, to the byte.

    A whole answer may say more, such as other parts that could help: that is what its `ETag` is for.
    No rows on a complete page: nothing is stale. Where the older release is gone, read the exports anew.
    """
    on = asked.on or today
    before = asked.since_on or on
    older = _older(request, asked.since, serving)
    stale = request.app.state.stale.between(older, serving, before, on)
    return represent(request, ChangesTold.from_domain(stale, asked, (before, on), serving))


def _older(request: Request, name: str, serving: Serving) -> Serving:
    office = request.app.state.office
    known = serving if name == serving.name else office.shelf.open(name) if office else None
    if known is None:
        raise ReleaseGone(name, [serving.name])
    return known
