"""Releases as they are kept: files and stored form, each with the digest that is compared before use."""

from __future__ import annotations

import hashlib
import json
import zlib
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from sqlalchemy import Row, Select, func, insert, select, update
from sqlalchemy.exc import IntegrityError

from service.store.database import Database
from service.store.errors import DamagedRelease
from service.store.kept import CasesAsked, KeptRelease
from service.store.schema import history, releases

_CONTENT = ("archive", "archive_digest", "stored", "stored_digest")


class ReleaseStore:
    """The kept releases. Once in, one is never changed or thrown away: plans and pinned addresses rely on it."""

    def __init__(self, database: Database) -> None:
        self.database = database

    def keep(  # a keyword for each column
        self, release: str, *, archive: bytes, stored: bytes, counts: Mapping[str, int], by: str, at: datetime
    ) -> bool:
        """Put a release in.

        Returns: False if it was there already; it is left as it was then, unless it has been damaged since.

        Raises:
            StoreLost, StoreFull: Nothing was put in.
        """
        packed = zlib.compress(stored)
        row = {
            "id": release,
            "archive": archive,
            "archive_digest": _digest(archive),
            "stored": packed,
            "stored_digest": _digest(packed),
            "counts": json.dumps(dict(counts)),
            "kept_at": at,
            "kept_by": by,
        }
        if self.find(release) is not None:
            self._mend(release, row)
            return False
        try:
            with self.database.writing() as connection:
                connection.execute(insert(releases).values(row))
        except IntegrityError:
            # Somebody else put the same content in at this moment.
            return False
        return True

    def _mend(self, release: str, row: Mapping[str, Any]) -> None:
        try:
            self.stored(release)
            self.archive(release)
        except DamagedRelease:
            content = {name: row[name] for name in _CONTENT}
            with self.database.writing() as connection:
                connection.execute(update(releases).where(releases.c.id == release).values(content))

    def find(self, release: str) -> KeptRelease | None:
        """Look a release up."""
        with self.database.reading() as connection:
            row = connection.execute(_described().where(releases.c.id == release)).one_or_none()
        return None if row is None else _kept(row)

    def newest(self, limit: int, before: str | None = None) -> list[KeptRelease]:
        """List releases, the last that was kept first.

        Args:
            before: Give those that come after this one in the list.
        """
        query = _described().order_by(releases.c.kept_at.desc(), releases.c.id).limit(limit)
        if before is not None:
            found = self.find(before)
            if found is None:
                return []
            query = query.where(
                (releases.c.kept_at < found.kept_at)
                | ((releases.c.kept_at == found.kept_at) & (releases.c.id > found.id))
            )
        with self.database.reading() as connection:
            return [_kept(row) for row in connection.execute(query)]

    def stored(self, release: str) -> bytes | None:
        """Give the stored form of a release.

        Raises:
            DamagedRelease: Its digest is another.
        """
        packed = self._content(release, "stored")
        return None if packed is None else zlib.decompress(packed)

    def archive(self, release: str) -> bytes | None:
        """Give the files of a release.

        Raises:
            DamagedRelease: Their digest is another.
        """
        return self._content(release, "archive")

    def _content(self, release: str, name: str) -> bytes | None:
        query = select(releases.c[name], releases.c[f"{name}_digest"]).where(releases.c.id == release)
        with self.database.reading() as connection:
            row = connection.execute(query).one_or_none()
        if row is None:
            return None
        content = bytes(row[0])
        if _digest(content) != row[1]:
            raise DamagedRelease(release)
        return content

    def note_cases(self, release: str, asked: CasesAsked) -> None:
        """Keep what came of a release's cases."""
        told = json.dumps(
            {"engine_revision": asked.engine_revision, "passed": asked.passed, "failed": asked.failed}
        )
        with self.database.writing() as connection:
            connection.execute(update(releases).where(releases.c.id == release).values(cases=told))

    def was_active(self, release: str) -> bool:
        """Tell whether a release has ever been served."""
        served = history.c.kind.in_(("activated", "rolled_back"))
        query = select(func.count()).where(served, history.c.release == release)
        with self.database.reading() as connection:
            return bool(connection.execute(query).scalar_one())


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _described() -> Select[Any]:
    columns = releases.c
    return select(columns.id, columns.counts, columns.kept_at, columns.kept_by, columns.cases)


def _kept(row: Row[Any]) -> KeptRelease:
    return KeptRelease(
        id=row.id,
        counts=json.loads(row.counts),
        kept_at=row.kept_at,
        kept_by=row.kept_by,
        cases=CasesAsked(**json.loads(row.cases)) if row.cases else None,
    )
