"""A column type for moments, since SQLite drops time zones."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import DateTime, Dialect
from sqlalchemy.types import TypeDecorator


class Moment(TypeDecorator[datetime]):
    """A moment: kept in UTC, and given back so. One without a time zone is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Write a moment as UTC without its zone, which both databases keep alike."""
        del dialect
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs a time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Read a moment in UTC."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)
