"""What happened to releases and holds, row by row; and what is served, which follows from it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import ColumnElement, Connection, Row, func, insert, select
from sqlalchemy.exc import IntegrityError

from rules.holds import HeldPart
from service.store.database import Database
from service.store.errors import StoreLost
from service.store.events import SERVES, Event, NewEvent, Overtaken, Standing
from service.store.schema import history

_TRIES = 20
"""More writers than this at one moment, and something else is wrong."""


class History:
    """The events of a database."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def latest(self) -> int:
        """Give the number of the latest event: all that a follower asks while nothing happens."""
        with self.database.reading() as connection:
            return _latest(connection)

    def standing(self) -> Standing:
        """Tell what is served now."""
        with self.database.reading() as connection:
            return _standing(connection)

    def was_holding(self, release: str) -> list[tuple[HeldPart, ...]]:
        """Give every set of holds that was ever in force while a release was served, the latest first."""
        with self.database.reading() as connection:
            events = [_event(row) for row in connection.execute(select(history).order_by(history.c.number))]
        found = [holds for served, holds in _holds_over_time(events) if served == release]
        return list(dict.fromkeys(reversed(found)))

    def served(self, limit: int) -> list[str]:
        """Give the releases that were served last, each once, the latest first."""
        query = (
            select(history.c.release)
            .where(history.c.kind.in_(SERVES))
            .group_by(history.c.release)
            .order_by(func.max(history.c.number).desc())
            .limit(limit)
        )
        with self.database.reading() as connection:
            return list(connection.execute(query).scalars())

    def newest(self, limit: int, before: int | None = None) -> list[Event]:
        """List events, the latest first, from before the one of this number."""
        query = select(history).order_by(history.c.number.desc()).limit(limit)
        if before is not None:
            query = query.where(history.c.number < before)
        with self.database.reading() as connection:
            return [_event(row) for row in connection.execute(query)]

    def add(self, entry: NewEvent, *, instead_of: str | None = None) -> Event:
        """Write down what happened, whole or not at all.

        Args:
            instead_of: For a change of release: the one that must still be served, None for none.

        Raises:
            Overtaken: Another release is served than `instead_of`, or the hold to lift is not set.
            StoreLost, StoreFull: Nothing was written.
        """
        for _ in range(_TRIES):
            try:
                with self.database.writing() as connection:
                    standing = _standing(connection)
                    _must_follow(entry, standing, instead_of)
                    number = standing.number + 1
                    connection.execute(insert(history).values(number=number, **_columns(entry)))
            except IntegrityError:
                # Somebody else took the number; what they did may be in the way of this.
                continue
            return Event(number=number, **_columns(entry))
        raise StoreLost


def _must_follow(entry: NewEvent, standing: Standing, instead_of: str | None) -> None:
    changes = entry.kind in SERVES and standing.release != instead_of
    lifts = entry.kind == "lifted" and entry.lifts not in {hold.number for hold in standing.holds}
    if changes or lifts:
        raise Overtaken(standing)


def _latest(connection: Connection) -> int:
    return int(connection.execute(select(func.coalesce(func.max(history.c.number), 0))).scalar_one())


def _standing(connection: Connection) -> Standing:
    # The number is read first: if more is written meanwhile, adding to this standing fails for its number.
    number = _latest(connection)
    active = _last(connection, history.c.kind.in_(SERVES))
    since = active.number if active else 0
    refused = _last(connection, history.c.kind == "refused", history.c.number > since)
    lifted = select(history.c.lifts).where(history.c.lifts.is_not(None))
    held = select(history).where(history.c.kind == "held", history.c.number.not_in(lifted))
    rows = connection.execute(held.order_by(history.c.number))
    return Standing(number=number, active=active, holds=tuple(_event(row) for row in rows), refused=refused)


def _last(connection: Connection, *which: ColumnElement[bool]) -> Event | None:
    row = connection.execute(select(history).where(*which).order_by(history.c.number.desc()).limit(1)).first()
    return None if row is None else _event(row)


def _holds_over_time(events: list[Event]) -> Iterator[tuple[str | None, tuple[HeldPart, ...]]]:
    """Give the release and the holds after each event."""
    release, holds = None, dict[int, Event]()
    for event in events:
        if event.kind in SERVES:
            release = event.release
        if event.kind == "held":
            holds[event.number] = event
        if event.kind == "lifted":
            holds.pop(event.lifts or 0, None)
        yield release, tuple(hold.held for hold in holds.values())


_NAMES = tuple(NewEvent.__dataclass_fields__)


def _columns(entry: NewEvent) -> dict[str, Any]:
    return {name: getattr(entry, name) for name in _NAMES}


def _event(row: Row[Any]) -> Event:
    return Event(**row._mapping)  # noqa: SLF001 -- SQLAlchemy's own name for a row's columns
