"""Keys: who may release or sell. A key is shown once; of its secret only a digest is kept."""

from __future__ import annotations

import hashlib
import hmac
import re
import secrets
from datetime import datetime
from typing import Any

from sqlalchemy import Row, insert, select, update

from service.store.database import Database
from service.store.kept import KeptKey, Role
from service.store.schema import keys

_ID_BYTES, _SECRET_BYTES = 6, 32
_FORM = re.compile(rf"lw_([0-9a-f]{{{_ID_BYTES * 2}}})_([A-Za-z0-9_-]{{43}})", re.ASCII)


class KeyStore:
    """The keys of a database.

    A secret has 256 random bits, so one round of SHA-256 hides it well enough; a slow hash is for passwords that
    people think of, and would cost every request a tenth of a second.
    """

    def __init__(self, database: Database) -> None:
        self.database = database

    def add(self, name: str, role: Role, at: datetime) -> tuple[KeptKey, str]:
        """Make a key.

        Returns: What is kept of it, and the key itself, which is shown here and never again.
        """
        identity, secret = secrets.token_hex(_ID_BYTES), secrets.token_urlsafe(_SECRET_BYTES)
        kept = KeptKey(id=identity, name=name, role=role, added_at=at, revoked_at=None)
        row = {"id": identity, "name": name, "role": role, "added_at": at, "digest": _digest(secret)}
        with self.database.writing() as connection:
            connection.execute(insert(keys).values(row))
        return kept, f"lw_{identity}_{secret}"

    def all(self) -> list[KeptKey]:
        """List the keys, revoked ones too, in the order of their making."""
        query = select(keys).order_by(keys.c.added_at, keys.c.id)
        with self.database.reading() as connection:
            return [_kept(row) for row in connection.execute(query)]

    def revoke(self, identity: str, at: datetime) -> bool:
        """Take a key back for ever.

        Returns: False if there is none of this id, or it was taken back before.
        """
        query = update(keys).where(keys.c.id == identity, keys.c.revoked_at.is_(None)).values(revoked_at=at)
        with self.database.writing() as connection:
            return connection.execute(query).rowcount == 1

    def holder(self, key: str) -> KeptKey | None:
        """Tell whose key this is; None for one that is malformed, not known, or taken back."""
        form = _FORM.fullmatch(key)
        if form is None:
            return None
        with self.database.reading() as connection:
            row = connection.execute(select(keys).where(keys.c.id == form[1])).one_or_none()
        # Compared also where there is no such key, so that both take the same time.
        is_right = hmac.compare_digest(row.digest if row else _digest(""), _digest(form[2]))
        return _kept(row) if row is not None and is_right and row.revoked_at is None else None


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode()).hexdigest()


def _kept(row: Row[Any]) -> KeptKey:
    return KeptKey(id=row.id, name=row.name, role=row.role, added_at=row.added_at, revoked_at=row.revoked_at)
