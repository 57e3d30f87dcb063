"""Serving what a database says, until stopped."""

from __future__ import annotations

from service.releasing.office import Office
from service.releasing.opening import open_standing
from service.serving import Serving
from service.settings import Settings
from service.store.history import History
from service.terminal.database import database_of, wait_for
from service.terminal.mistakes import WrongCommand
from service.terminal.serving import serve_release


def serve_database(settings: Settings) -> None:
    """Serve the release that is active in the database, and every one that comes after it.

    Raises:
        WrongCommand: None has been activated yet.
        DamagedRelease, StoreLost, WrongTables: It cannot be served.
    """
    serving, office = open_database(settings)
    serve_release(serving.release, settings, serving, office)


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
