"""Links with which a plan is read. A link is shown once; of its secret only a digest is kept."""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import Row, insert, select, update

from service.store.database import Database
from service.store.schema import plan_shares

_SECRET_BYTES = 32


class ShareStore:
    """The links of a database. A secret has 256 random bits, so a digest is compared by looking it up."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def add(self, plan: str, by: str, at: datetime, ends_at: datetime) -> tuple[str, str]:
        """Make a link to a plan.

        Returns: Its id, and its secret, which is shown here and never again.
        """
        identity, secret = secrets.token_hex(16), secrets.token_urlsafe(_SECRET_BYTES)
        row = {
            "id": identity,
            "plan": plan,
            "digest": _digest(secret),
            "by": by,
            "made_at": at,
            "ends_at": ends_at,
        }
        with self.database.writing() as connection:
            connection.execute(insert(plan_shares).values(row))
        return identity, secret

    def all(self, plan: str) -> Sequence[Row[Any]]:
        """List the links of a plan, ended and withdrawn ones too, in the order of their making."""
        query = select(plan_shares).where(plan_shares.c.plan == plan)
        with self.database.reading() as connection:
            return connection.execute(query.order_by(plan_shares.c.made_at, plan_shares.c.id)).all()

    def plan_of(self, secret: str, now: datetime) -> Row[Any] | None:
        """Give the link of a secret, None for one that is not known, has ended or was withdrawn."""
        query = select(plan_shares).where(
            plan_shares.c.digest == _digest(secret),
            plan_shares.c.withdrawn_at.is_(None),
            plan_shares.c.ends_at > now,
        )
        with self.database.reading() as connection:
            return connection.execute(query).one_or_none()

    def withdraw(self, plan: str, identity: str, at: datetime) -> bool:
        """End a link for ever.

        Returns: False if the plan has none of this id in force.
        """
        which = (
            plan_shares.c.plan == plan,
            plan_shares.c.id == identity,
            plan_shares.c.withdrawn_at.is_(None),
        )
        with self.database.writing() as connection:
            return connection.execute(update(plan_shares).where(*which).values(withdrawn_at=at)).rowcount == 1


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()
