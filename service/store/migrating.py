"""Migrations: to the newest tables, and back."""

from __future__ import annotations

from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text

from service.store.database import Database
from service.store.errors import StoreError

_STEPS = Path(__file__).parent / "migrations"
_LOCK = 0x1003_3A17
"""Which advisory lock of PostgreSQL the migrations take: any number that nothing else takes."""


class WrongTables(StoreError):  # noqa: N818 -- it names what was found, like every exception here
    """The database has the tables of another version of this program. Its text says what to do."""


def newest() -> str:
    """Give the newest step."""
    return str(ScriptDirectory(str(_STEPS)).get_current_head())


def standing(database: Database) -> str | None:
    """Give the step at which a database stands, or None if it has no tables.

    Raises:
        StoreLost: It cannot be reached.
    """
    with database.reading() as connection:
        return MigrationContext.configure(connection).get_current_revision()


def must_be_newest(database: Database) -> None:
    """Make sure that the tables are those of this program.

    Raises:
        WrongTables: They are older, newer, or there are none.
        StoreLost: The database cannot be reached.
    """
    if database.is_sqlite and not Path(database.url.database or "").exists():
        raise WrongTables(f"{database.url.database} does not exist; `loomway store migrate` makes it")
    found = standing(database)
    if found == newest():
        return
    if found is None or found in _known():
        raise WrongTables("the database is not up to date; `loomway store migrate` brings it there")
    raise WrongTables("the database was made by a newer version of Loomway; install that one")


def migrate(database: Database) -> str:
    """Bring a database to the newest step, each step whole or not at all.

    Returns: The step at which it stands now.
    """
    migrate_to(database, "head")
    return newest()


def migrate_to(database: Database, step: str) -> None:
    """Bring a database forward to a step."""
    database.create_file()
    with database.writing() as connection:
        _take_turn(connection)
        command.upgrade(_config(connection), step)


def back(database: Database) -> str | None:
    """Take the last step back; what only newer tables hold is lost.

    Returns: The step at which it stands now.
    """
    if standing(database) is not None:
        with database.writing() as connection:
            _take_turn(connection)
            command.downgrade(_config(connection), "-1")
    return standing(database)


def _known() -> set[str]:
    return {step.revision for step in ScriptDirectory(str(_STEPS)).walk_revisions()}


def _take_turn(connection: Connection) -> None:
    # Of two that migrate at once, the second finds nothing left to do. SQLite lets in one writer anyway.
    if connection.dialect.name == "postgresql":
        connection.execute(text("SELECT pg_advisory_xact_lock(:number)"), {"number": _LOCK})


def _config(connection: Connection) -> Config:
    config = Config()
    config.set_main_option("script_location", str(_STEPS))
    config.attributes["connection"] = connection
    return config
