"""Serving what a database says, until stopped."""

from __future__ import annotations

from functools import partial
from pathlib import Path

from fastapi import FastAPI

from service.app import create_app
from service.releasing.office import Office
from service.releasing.opening import open_standing
from service.serving import Serving
from service.settings import Settings
from service.store.history import History
from service.terminal.database import database_of, wait_for
from service.terminal.mistakes import WrongCommand
from service.terminal.serving import serve_release
from service.terminal.workers import serve_workers


def serve_database(settings: Settings, workers: int = 1) -> None:
    """Serve the release that is active in the database, and every one that comes after it.

    Args:
        workers: Processes that answer.

    Raises:
        WrongCommand: None has been activated yet.
        DamagedRelease, StoreLost, WrongTables: It cannot be served.
    """
    serving, office = open_database(settings)
    if workers > 1:
        # What was opened showed that it can be; each worker opens it for itself.
        office.database.close()
        del serving
        serve_workers(workers, settings, partial(_app, settings))
        return
    serve_release(serving.release, settings, serving, office)


def _app(settings: Settings, board: Path) -> FastAPI:
    serving, office = open_database(settings)
    return create_app(serving.release, settings, serve=lambda _: serving, office=office, board=board)


def open_database(settings: Settings) -> tuple[Serving, Office]:
    """Open what is active in the database, and the side of the application that follows it.

    Raises: as `serve_database`.
    """
    database = database_of(settings)
    wait_for(database)
    serving = open_standing(database, History(database).standing())
    if serving is None:
        raise WrongCommand("no release has been activated yet; `loomway release DIR --why WHY` does it")
    office = Office(database, held=settings.releases_held, every_s=settings.follow_seconds)
    return serving, office
