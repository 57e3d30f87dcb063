"""A backup holds everything, and comes back whole or not at all, into either kind of database."""

from __future__ import annotations

import zipfile
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from service.store.backup import BackupRefused, back_up, restore
from service.store.creation import creation_of
from service.store.database import Database
from service.store.events import NewEvent
from service.store.history import History
from service.store.kept import CasesAsked
from service.store.keys import KeyStore
from service.store.migrating import migrate
from service.store.plans import PlanStore, RiderRow, Written
from service.store.releases import ReleaseStore
from service.store.schema import metadata
from service.store.shares import ShareStore
from tests.postgres import Server

AT = datetime(2026, 5, 4, 9, 30, 0, 7, tzinfo=UTC)
HELD = NewEvent(kind="held", part="tern-52", first=date(2026, 5, 4), by="Odd", at=AT, why='løse kjegler "\n')


@pytest.fixture
def filled(database: Database) -> Database:
    store, history = ReleaseStore(database), History(database)
    store.keep("r-1", archive=bytes(range(256)) * 300, stored=b"form", counts={"parts": 1}, by="Odd", at=AT)
    store.note_cases("r-1", CasesAsked(engine_revision=2, passed=3, failed=0))
    history.add(NewEvent(kind="activated", release="r-1", by="Odd", at=AT, why="first"), instead_of=None)
    number = history.add(HELD).number
    history.add(HELD)
    history.add(NewEvent(kind="lifted", lifts=number, by="Odd", at=AT, why="checked"))
    KeyStore(database).add("Desk", "sales", AT)
    plan = Written(
        plan="p" * 32,
        bike="gadwall-2018-grand",
        release="r-1.2",
        state="planned",
        archived_at=None,
        content='{"plan": "ø"}',
        kind="made",
        by="Desk",
        at=AT,
        why="",
    )
    rider = RiderRow(id="r" * 32, name='Ingunn "Tangen"', contact="ingunn@strand.example", added_at=AT)
    PlanStore(database).add(plan, creation_of("desk", "first", "asked"), rider=rider)
    PlanStore(database).change(1, replace(plan, kind="archived", archived_at=AT))
    ShareStore(database).add(plan.plan, "Desk", AT, AT)
    return database


@pytest.fixture(params=["sqlite", "postgresql"])
def other(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Database]:
    """An empty database of each kind, whatever the first is."""
    if request.param == "sqlite":
        address = f"sqlite:///{tmp_path}/other.db"
    else:
        server: Server = request.getfixturevalue("server")
        address = server.new_database()
    database = Database(address)
    yield database
    database.close()


def content(database: Database) -> dict[str, list[tuple[object, ...]]]:
    with database.reading() as connection:
        return {
            table.name: [tuple(row) for row in connection.execute(select(table).order_by(*table.primary_key))]
            for table in metadata.sorted_tables
        }


def test_what_is_restored_is_what_was_backed_up(filled: Database, other: Database, tmp_path: Path) -> None:
    told = back_up(filled, tmp_path / "loomway.backup")
    assert told == {
        "history": 4,
        "keys": 1,
        "plan_creations": 1,
        "plan_revisions": 2,
        "plan_shares": 1,
        "plans": 1,
        "releases": 1,
        "riders": 1,
    }
    assert restore(other, tmp_path / "loomway.backup") == told
    assert content(other) == content(filled)
    assert History(other).standing() == History(filled).standing()


def test_a_restored_database_works_on(filled: Database, other: Database, tmp_path: Path) -> None:
    back_up(filled, tmp_path / "loomway.backup")
    restore(other, tmp_path / "loomway.backup")
    assert History(other).add(HELD).number == 5


def test_a_database_that_holds_something_is_left_alone(filled: Database, tmp_path: Path) -> None:
    back_up(filled, tmp_path / "loomway.backup")
    before = content(filled)
    with pytest.raises(BackupRefused, match="holds something"):
        restore(filled, tmp_path / "loomway.backup")
    assert content(filled) == before


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9, 0.999])
def test_half_a_backup_is_refused_and_nothing_restored(
    filled: Database, other: Database, tmp_path: Path, share: float
) -> None:
    back_up(filled, tmp_path / "loomway.backup")
    whole = (tmp_path / "loomway.backup").read_bytes()
    (tmp_path / "half").write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(BackupRefused):
        restore(other, tmp_path / "half")
    migrate(other)
    assert not any(content(other).values())


def test_a_backup_that_was_changed_is_refused(filled: Database, other: Database, tmp_path: Path) -> None:
    back_up(filled, tmp_path / "loomway.backup")
    with (
        zipfile.ZipFile(tmp_path / "loomway.backup") as whole,
        zipfile.ZipFile(tmp_path / "x", "w") as changed,
    ):
        for name in whole.namelist():
            changed.writestr(name, whole.read(name).replace(b"tern-52", b"tern-65"))
    with pytest.raises(BackupRefused):
        restore(other, tmp_path / "x")


def test_a_backup_that_cannot_be_written_leaves_the_one_before(filled: Database, tmp_path: Path) -> None:
    file = tmp_path / "loomway.backup"
    file.write_bytes(b"the one before")
    with pytest.raises(RuntimeError, match="disk"):
        back_up(_Failing(filled), file)  # type: ignore[arg-type]
    assert file.read_bytes() == b"the one before"
    assert sorted(x.name for x in tmp_path.iterdir() if "backup" in x.name) == ["loomway.backup"]


class _Failing:
    """A database that gives its step and then fails."""

    def __init__(self, database: Database) -> None:
        self._database, self._left = database, 1

    def reading(self) -> object:
        if not self._left:
            raise RuntimeError("disk")
        self._left -= 1
        return self._database.reading()

    def __getattr__(self, name: str) -> object:
        return getattr(self._database, name)
