"""Opening the database that the settings name, for a command that needs one."""

from __future__ import annotations

import getpass
import time
from collections.abc import Iterator
from contextlib import contextmanager

from service.settings import Settings, read_settings
from service.store.database import Database
from service.store.errors import StoreLost
from service.store.migrating import must_be_newest
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint

_TRIES = 60
"""Seconds that a starting service waits for its database: both may have been started at once."""


def database_of(settings: Settings) -> Database:
    """Give the database that the settings name; nothing is connected yet.

    Raises:
        WrongCommand: They name none.
        WrongAddress: The address is none.
    """
    if settings.database_url is None:
        raise WrongCommand(
            "LOOMWAY_DATABASE_URL says where releases and keys are kept, and is not set; "
            "for a file here: LOOMWAY_DATABASE_URL=sqlite:///loomway.db"
        )
    return Database(settings.database_url.get_secret_value())


@contextmanager
def open_database(*, migrated: bool = True) -> Iterator[Database]:
    """Open the database of the environment's settings.

    Args:
        migrated: Its tables must be the newest.

    Raises:
        WrongCommand, WrongAddress, WrongTables, StoreLost: It cannot be used.
    """
    database = database_of(read_settings())
    try:
        if migrated:
            must_be_newest(database)
        yield database
    finally:
        database.close()


def wait_for(database: Database) -> None:
    """Wait until a database can be reached.

    Raises:
        StoreLost: It still cannot.
        WrongTables: It is not up to date.
    """
    for left in reversed(range(_TRIES)):
        try:
            must_be_newest(database)
        except StoreLost:
            if not left:
                raise
            hint("waiting for the database")
            time.sleep(1)
        else:
            return


def whoever(by: str | None) -> str:
    """Give the name for the history: the one that was given, or who is logged in."""
    if by:
        return by
    try:
        return getpass.getuser()
    except (OSError, KeyError) as error:
        raise WrongCommand("nobody knows who you are; say so with --by NAME") from error
