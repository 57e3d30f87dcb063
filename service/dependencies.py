"""What routes are given: the release pinned to the request, today's date, and a guard on the kind of body."""

from __future__ import annotations

from datetime import date
from typing import Annotated, cast

from fastapi import Depends, HTTPException, Path, Request

from service.serving import Serving
from service.shapes.base import Day


def _serving(request: Request) -> Serving:
    return cast("Serving", request.state.serving)


def _today(request: Request) -> date:
    return cast("date", request.app.state.today())


async def _json_body(request: Request) -> None:
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/json":
        raise HTTPException(415)
    try:
        # The framework reads UTF-16 and half surrogate pairs too; RFC 8259 knows UTF-8 only.
        (await request.body()).decode()
    except UnicodeDecodeError as error:
        raise HTTPException(400) from error


ServingDep = Annotated[Serving, Depends(_serving)]
TodayDep = Annotated[date, Depends(_today)]
JSON_BODY = Depends(_json_body)
"""For every route that takes a body."""

BikeId = Annotated[str, Path(max_length=80, description="Id of a bike, or a name that stands for several.")]
PartId = Annotated[str, Path(max_length=80, description="Id of a part.")]
OnDay = Annotated[Day, Path(description="The day that the answer is for.")]
ReleaseName = Annotated[str, Path(max_length=120, description="Name of a release, as every answer gives it.")]
