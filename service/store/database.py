"""The database: one address, two kinds, and what can go wrong with it in words of our own."""

from __future__ import annotations

import sqlite3
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import URL, make_url
from sqlalchemy.exc import ArgumentError, DBAPIError, InterfaceError, OperationalError
from sqlalchemy.pool import NullPool

from service.store.errors import StoreFull, StoreLost, WrongAddress

_WAIT_S = 10
"""Seconds that a writer waits for another on SQLite, and that connecting to PostgreSQL may take."""

_FULL = ("database or disk is full", "disk full", "no space left on device", "could not extend file")


class Database:
    """Connections to one database. Every `reading` and `writing` is a transaction of its own."""

    def __init__(self, address: str) -> None:
        """Take an address; nothing is connected yet.

        Raises:
            WrongAddress: It is neither of SQLite nor of PostgreSQL.
        """
        self.url = _url(address)
        self.is_sqlite = self.url.get_backend_name() == "sqlite"
        self.engine = _sqlite(self.url) if self.is_sqlite else _postgresql(self.url)

    @property
    def address(self) -> str:
        """The address, with its password: for processes of our own, and for nobody to see."""
        return self.url.render_as_string(hide_password=False)

    @property
    def shown(self) -> str:
        """The address without its password."""
        return self.url.render_as_string(hide_password=True)

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """Open a transaction that sees one state.

        Raises:
            StoreLost: The database cannot be reached.
        """
        with _told(), self._connect("REPEATABLE READ", writes=False) as connection, connection.begin():
            yield connection

    @contextmanager
    def writing(self) -> Iterator[Connection]:
        """Open a transaction that writes; it is kept whole when the block ends, and dropped if it raises.

        Raises:
            StoreLost: The database cannot be reached.
            StoreFull: It has no room left.
        """
        with _told(), self._connect("READ COMMITTED", writes=True) as connection, connection.begin():
            yield connection

    def _connect(self, isolation: str, *, writes: bool) -> Connection:
        # SQLite sees one state in every transaction.
        options = {} if self.is_sqlite else {"isolation_level": isolation}
        return self.engine.connect().execution_options(loomway_writes=writes, **options)

    def create_file(self) -> None:
        """Make the file of an SQLite database, which is never made by the way: a moved file must not seem empty."""
        if self.is_sqlite and self.url.database:
            Path(self.url.database).touch(mode=0o600, exist_ok=True)

    def close(self) -> None:
        """Close what is open."""
        self.engine.dispose()


def _url(address: str) -> URL:
    try:
        url = make_url(address)
        kind = url.get_backend_name()
    except (ArgumentError, ValueError) as error:
        raise WrongAddress from error
    if kind == "postgresql":
        return url.set(drivername="postgresql+psycopg")
    if kind == "sqlite" and url.database and url.database != ":memory:":
        return url.set(drivername="sqlite+pysqlite")
    raise WrongAddress


def _sqlite(url: URL) -> Engine:
    # Opened anew for each transaction: a file that was restored or moved is noticed, and opening costs little.
    path = Path(url.database or "").absolute()
    address = URL.create("sqlite+pysqlite", database=f"file:{path}", query={"mode": "rw", "uri": "true"})
    engine = create_engine(
        address, poolclass=NullPool, hide_parameters=True, connect_args={"timeout": _WAIT_S}
    )
    event.listen(engine, "connect", _set_up_sqlite)
    event.listen(engine, "begin", _begin_sqlite)
    return engine


def _set_up_sqlite(connection: Any, _: object) -> None:  # noqa: ANN401 -- the driver's own connection
    # The driver would begin transactions late, and leave statements that change tables outside of them.
    connection.isolation_level = None
    cursor = connection.cursor()
    _write_ahead(cursor)
    for pragma in ("synchronous=FULL", "foreign_keys=ON"):
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _write_ahead(cursor: sqlite3.Cursor) -> None:
    # A new file is turned over once, and whoever comes at that moment is refused without the wait that all else has.
    for left in reversed(range(_WAIT_S * 20)):
        try:
            cursor.execute("PRAGMA journal_mode=WAL")
        except sqlite3.OperationalError as error:
            if not left or error.sqlite_errorcode & 0xFF not in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
                raise
            time.sleep(0.05)
        else:
            return


def _begin_sqlite(connection: Connection) -> None:
    # A writer that begins as a reader would fail, instead of waiting, where another wrote in between.
    writes = connection.get_execution_options().get("loomway_writes")
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")


def _postgresql(url: URL) -> Engine:
    return create_engine(
        url,
        # What is written can be personal, and belongs into no log.
        hide_parameters=True,
        pool_pre_ping=True,
        pool_recycle=600,
        connect_args={"connect_timeout": _WAIT_S, "options": "-c timezone=UTC"},
    )


@contextmanager
def _told() -> Iterator[None]:
    """Say in our own words what went wrong: a driver's message can hold the address or what was written."""
    try:
        yield
    except OperationalError as error:
        raise StoreFull if _is_full(error) else StoreLost from error
    except InterfaceError as error:
        raise StoreLost from error
    except DBAPIError as error:
        if error.connection_invalidated:
            raise StoreLost from error
        raise


def _is_full(error: OperationalError) -> bool:
    said = str(error.orig).lower()
    return any(words in said for words in _FULL)
