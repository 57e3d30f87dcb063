"""How the layers of the service lie around the framework, the outermost last. Handlers and routes are there before."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import cast

from fastapi import FastAPI
from fastapi.middleware.cors import CORSMiddleware

from service.middleware import BodyLimit, HeadAsGet, PinRelease
from service.observing.at_once import AtOnce
from service.observing.board import Board
from service.observing.decisions import DecisionLog
from service.observing.figures import AllTold, Figures, Told
from service.observing.layer import Observed
from service.observing.rates import Rates
from service.serving import Serving
from service.settings import Settings
from service.storefront.quick import Quick, QuickFirst

TOLD = ["ETag", "Loomway-Release", "Loomway-Release-Number", "Loomway-Request-Id", "Retry-After"]
"""Headers that a page of another origin may read."""

SENT = ["Authorization", "Content-Type", "If-None-Match", "Loomway-Release", "Loomway-Min-Release"]
"""Headers that a page of another origin may send."""


def lay_layers(app: FastAPI, settings: Settings, board: Path | None = None) -> None:
    """Put limits, figures, logs and the storefront's quick way around an application."""
    app.state.figures = Figures()
    told = Told(app.state.figures, lambda: cast("Serving", app.state.serving))
    app.state.board = Board(board, told.collect) if board is not None else None
    app.state.told = told if app.state.board is None else AllTold(app.state.board)
    app.state.decisions = DecisionLog(settings.decision_log) if settings.decision_log else None
    app.add_middleware(
        BodyLimit,
        limit_bytes=settings.body_limit_bytes,
        uploads={("POST", "/v1/releases"): settings.upload_limit_bytes},
    )
    app.add_middleware(PinRelease)
    app.add_middleware(HeadAsGet)
    app.add_middleware(
        AtOnce, most=settings.at_once, seconds=settings.answer_seconds, figures=app.state.figures
    )
    quick = Quick(settings.body_limit_bytes)
    if settings.allowed_origins:
        app.add_middleware(QuickFirst, quick=quick)
        app.add_middleware(
            CORSMiddleware,
            allow_origins=settings.allowed_origins,
            allow_methods=["GET", "HEAD", "POST"],
            allow_headers=SENT,
            expose_headers=TOLD,
            max_age=3_600,
        )
    # Outside of the framework's own layers: what is known goes through none of them.
    app.middleware_stack = observed = Observed(
        app.build_middleware_stack(),
        figures=app.state.figures,
        today=lambda: cast("date", app.state.today()),
        quick=quick,
        has_origins=bool(settings.allowed_origins),
        decisions=app.state.decisions,
        rates=Rates(settings.requests_per_minute) if settings.requests_per_minute else None,
    )
    # For a connection that asks before it makes a task.
    app.state.known = observed.known
