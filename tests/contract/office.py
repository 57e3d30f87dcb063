"""A database of its own for an application under test: one release kept and served, and a key for its catalog."""

from __future__ import annotations

import shutil
import tempfile
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import NamedTuple

from rules.load import load_catalog
from rules.release import ENGINE_REVISION, Release
from rules.stored import to_stored
from service.releasing.examine import here
from service.releasing.files import read_directory, write_archive
from service.releasing.office import Office
from service.shapes.catalog import Counts
from service.store.database import Database
from service.store.events import NewEvent
from service.store.history import History
from service.store.kept import CasesAsked
from service.store.keys import KeyStore
from service.store.migrating import migrate
from service.store.releases import ReleaseStore
from service.storefront.warming import judge_here

AT = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
BY = "Sunniva"
EARLIER = "r-earlier"
"""Served before the release under test, and equal to it."""


class Template(NamedTuple):
    """A database to copy, and the keys that it knows."""

    file: Path
    keys: dict[str, str]


@cache
def template(release_id: str, directory: Path) -> Template:
    """Make a database in which a release is served, and another was before."""
    file = Path(_directory().name) / f"{release_id}.db"
    database = Database(f"sqlite:///{file}")
    migrate(database)
    _fill(database, release_id, directory)
    keys = KeyStore(database)
    made = {role: keys.add(f"{BY}, {role}", role, AT)[1] for role in ("catalog", "sales")}
    database.close()
    return Template(file, made)


def _fill(database: Database, release_id: str, directory: Path) -> None:
    catalog = load_catalog(directory)
    kept, history = ReleaseStore(database), History(database)
    cases = CasesAsked(engine_revision=ENGINE_REVISION, passed=len(catalog.cases), failed=0)
    before = None
    for name in (EARLIER, release_id):
        kept.keep(
            name,
            archive=write_archive(read_directory(directory)),
            stored=to_stored(catalog),
            counts=Counts.from_domain(catalog).model_dump(),
            by=BY,
            at=AT,
        )
        kept.note_cases(name, cases)
        event = NewEvent(kind="activated", release=name, by=BY, at=AT, why="new prices")
        history.add(event, instead_of=before)
        before = name


@cache
def _directory() -> tempfile.TemporaryDirectory[str]:
    return tempfile.TemporaryDirectory(prefix="loomway-test-")


def office_for(release: Release, directory: Path) -> Office:
    """Give an application's side of a database in which a release is served; it follows only when told to."""
    made = template(release.id, directory)
    file = Path(tempfile.mkdtemp(dir=_directory().name)) / "loomway.db"
    shutil.copyfile(made.file, file)
    return Office(Database(f"sqlite:///{file}"), every_s=3_600, run=here, judge=judge_here, now=lambda: AT)


def header(release: Release, directory: Path, role: str = "catalog") -> dict[str, str]:
    """Give the header with a key of a role."""
    return {"Authorization": f"Bearer {template(release.id, directory).keys[role]}"}
