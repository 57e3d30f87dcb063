"""The application: wiring only."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime

from fastapi import FastAPI

from rules.release import Release
from service.handlers import install_handlers
from service.middleware import BodyLimit, HeadAsGet, PinRelease
from service.openapi import PATH, install_document
from service.routes import ROUTERS
from service.serving import Serving
from service.settings import Settings


def create_app(
    release: Release,
    settings: Settings,
    *,
    serve: Callable[[Release], Serving] = Serving.of,
    today: Callable[[], date] | None = None,
) -> FastAPI:
    """Make the service that answers from one release.

    Args:
        serve: Makes the engine of a release; tests put their own in.
        today: The day at the shop; the clock's, unless it is given.
    """
    app = FastAPI(openapi_url=PATH, docs_url=None, redoc_url=None, redirect_slashes=False)
    app.state.serving = serve(release)
    app.state.today = today or (lambda: datetime.now(settings.zone).date())
    for router in ROUTERS:
        app.include_router(router)
    install_handlers(app)
    install_document(app)
    app.add_middleware(BodyLimit, limit_bytes=settings.body_limit_bytes)
    app.add_middleware(PinRelease)
    app.add_middleware(HeadAsGet)
    return app
