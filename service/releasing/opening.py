"""From what is kept to what is served."""

from __future__ import annotations

from rules.holds import HeldPart, holds_id
from rules.release import ENGINE_REVISION, Release
from service.releasing.examine import open_kept
from service.serving import Serving
from service.store.database import Database
from service.store.errors import DamagedRelease
from service.store.events import Standing
from service.store.history import History
from service.store.releases import ReleaseStore


def open_release(database: Database, release: str) -> Release:
    """Read a kept release; its stored form may be damaged or of another revision as long as its files are whole.

    Raises:
        DamagedRelease: Neither can be used.
        NoLongerSound, NoRoom, StoreLost: It cannot be read now.
    """
    store = ReleaseStore(database)
    archive = store.archive(release)
    if archive is None:
        raise DamagedRelease(release)
    try:
        stored = store.stored(release) or b""
    except DamagedRelease:
        stored = b""
    return Release(id=release, catalog=open_kept(stored, archive))


def open_standing(database: Database, standing: Standing) -> Serving | None:
    """Make ready what is served after an event; None if there has been no release yet.

    Raises:
        DamagedRelease, NoLongerSound, NoRoom, StoreLost: It cannot be read now.
    """
    if standing.release is None:
        return None
    return Serving.of(open_release(database, standing.release), standing.held, standing.number)


def open_named(database: Database, name: str) -> Serving | None:
    """Make ready what answered under a name at some time; None if nothing did, or another engine revision.

    Raises:
        DamagedRelease, NoLongerSound, NoRoom, StoreLost: It cannot be read now.
    """
    release, _, rest = name.partition(".")
    revision, _, holds = rest.partition(".")
    if (
        revision != str(ENGINE_REVISION)
        or name.endswith(".")
        or not ReleaseStore(database).was_active(release)
    ):
        return None
    found = _holds(database, release, holds)
    return None if found is None else Serving.of(open_release(database, release), found)


def _holds(database: Database, release: str, name: str) -> tuple[HeldPart, ...] | None:
    if not name:
        return ()
    return next((x for x in History(database).was_holding(release) if holds_id(x) == name), None)
