"""The application: wiring only."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager, asynccontextmanager
from datetime import date, datetime
from functools import partial
from pathlib import Path
from threading import Event
from typing import TYPE_CHECKING, cast

from fastapi import FastAPI
from fastapi.concurrency import run_in_threadpool

from rules.release import Release
from service.garbage import Garbage
from service.handlers import install_handlers
from service.observing.wiring import lay_layers
from service.openapi import PATH, install_document
from service.routes import ROUTERS
from service.serving import Serving
from service.settings import Settings
from service.stale import StaleAnswers
from service.storefront.warming import Warmer, judge_here

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.releasing.office import Office


def create_app(
    release: Release,
    settings: Settings,
    *,
    serve: Callable[[Release], Serving] = Serving.of,
    today: Callable[[], date] | None = None,
    office: Office | None = None,
    board: Path | None = None,
) -> FastAPI:
    """Make the service that answers from one release.

    Args:
        serve: Makes the engine of a release; tests put their own in.
        today: The day at the shop; the clock's, unless it is given.
        office: The application's side of the database, which then says what is served; without one nothing
            outlives the process.
        board: The directory where the workers of one command show each other their figures, if there are several.
    """
    app = FastAPI(
        openapi_url=PATH,
        docs_url=None,
        redoc_url=None,
        redirect_slashes=False,
        lifespan=_follow(office),
        # Figures are our own (`service.observing`); looking for another collector costs each answer a few microseconds.
        telemetry={"tracing": False, "metrics": False, "logs": False},
    )
    app.state.serving = serve(release)
    app.state.office = office
    app.state.stale = StaleAnswers()
    app.state.today = today or (lambda: datetime.now(settings.zone).date())
    app.state.garbage = Garbage(
        lambda: cast("int", app.state.figures.requests.total()),
        lambda: cast("bool", app.state.warmer.is_working),
    )
    app.state.warmer = Warmer(
        app.state.today, office.judge if office is not None else judge_here, app.state.garbage.expect
    )
    if office is not None:
        office.attach(app.state.serving, partial(_swap, app), partial(_warm, app))
    for router in ROUTERS:
        app.include_router(router)
    install_handlers(app)
    install_document(app)
    lay_layers(app, settings, board)
    return app


def _swap(app: FastAPI, following: Serving) -> None:
    app.state.serving = following


def _warm(app: FastAPI, following: Serving) -> Event:
    return cast("Event", app.state.warmer.begin(app.state.serving, following))


def _follow(office: Office | None) -> Callable[[FastAPI], AbstractAsyncContextManager[None]]:
    @asynccontextmanager
    async def following(app: FastAPI) -> AsyncIterator[None]:
        helpers = [x for x in (app.state.decisions, app.state.board, office) if x is not None]
        app.state.garbage.start()
        app.state.warmer.start(asyncio.get_running_loop())
        for helper in helpers:
            await run_in_threadpool(helper.start)
        yield
        for helper in reversed(helpers):
            await run_in_threadpool(helper.stop)
        await app.state.warmer.stop()
        await app.state.garbage.stop()

    return following
