"""What routes are given: the release pinned to the request, today's date, and a guard on the kind of body."""

from __future__ import annotations

from datetime import date
from typing import Annotated, cast

from fastapi import Depends, HTTPException, Path, Request
from fastapi.concurrency import run_in_threadpool

from service.middleware import RELEASE_HEADER
from service.serving import ReleaseBehind, Serving, UnknownRelease
from service.shapes.base import Day

ReleaseName = Annotated[str, Path(max_length=120, description="Name of a release, as every answer gives it.")]


async def _serving(request: Request) -> Serving:
    """The release pinned to the request, or the older one that its header asks for."""
    if request.state.is_behind:
        raise ReleaseBehind
    asked = request.headers.get(RELEASE_HEADER)
    pinned = cast("Serving", request.state.serving)
    return pinned if asked is None else await named(request, asked)


async def named(request: Request, name: str) -> Serving:
    """Pin the release of a name to the request: the one that is served, or an older one.

    Raises:
        UnknownRelease: Nothing has ever been served under this name, or without a database nobody knows.
    """
    pinned = cast("Serving", request.state.serving)
    if name == pinned.name:
        return pinned
    office = request.app.state.office
    older = office and (office.shelf.find(name) or await run_in_threadpool(office.shelf.open, name))
    if older is None:
        raise UnknownRelease(name, [pinned.name])
    request.state.serving = older
    return cast("Serving", older)


def serving_now(request: Request) -> Serving:
    """Give what is served after a change, and pin it: the answer tells of it."""
    request.state.serving = request.app.state.serving
    return cast("Serving", request.state.serving)


async def _named_in_path(request: Request, release: ReleaseName) -> Serving:
    return await named(request, release)


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
NamedServingDep = Annotated[Serving, Depends(_named_in_path)]
TodayDep = Annotated[date, Depends(_today)]
JSON_BODY = Depends(_json_body)
"""For every route that takes a body."""

BikeId = Annotated[str, Path(max_length=80, description="Id of a bike, or a name that stands for several.")]
PartId = Annotated[str, Path(max_length=80, description="Id of a part.")]
OnDay = Annotated[Day, Path(description="The day that the answer is for.")]
