"""A small catalog in several states, as archives: what a manager uploads one after another."""

from __future__ import annotations

from datetime import UTC, date, datetime

from rules.impact import Acknowledgement
from rules.question import FitQuestion
from rules.release import ENGINE_REVISION, Release
from service.releasing.examine import Sound, check_files
from service.releasing.files import Files, read_directory, write_archive
from service.releasing.manager import Manager
from service.releasing.outcome import Kept, Refused
from service.store.database import Database
from service.store.events import Event, NewEvent
from service.store.kept import CasesAsked
from service.store.releases import ReleaseStore
from tests.contract.small import DIRECTORY

TODAY = date(2026, 5, 1)
AT = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)
BIKE, PART, PLACE = "bittern-2019-plain", "curlew-slim", "fairing_pods"
ASKED = FitQuestion(bike=BIKE, part=PART, place=PLACE, on=TODAY)
PRICES, CASES, PARTS = "prices/2026.yaml", "cases/fronts.yaml", "parts/curlew.yaml"


def changed(path: str = PRICES, old: str = "", new: str = "") -> bytes:
    """The small catalog with one change, packed."""
    files = dict(read_directory(DIRECTORY))
    text = files[path].decode()
    assert old in text
    files[path] = text.replace(old, new).encode()
    return write_archive(files)


def priced(amount: int) -> bytes:
    """The small catalog with another price of the slim speaker: nothing but the total of an answer changes."""
    return changed(PRICES, "curlew-slim: 9900", f"curlew-slim: {amount}")


FIRST = changed()
SECOND = priced(9_800)
BROKEN = changed(PARTS, "kind: grille", "kind: grill")
FAILING = changed(CASES, "verdict: fits_with", "verdict: fits")
WITHOUT_CASES = write_archive({k: v for k, v in read_directory(DIRECTORY).items() if k != CASES})


def manager(database: Database, by: str = "Sunniva") -> Manager:
    return Manager(database=database, by=by, now=lambda: AT)


def keep(database: Database, archive: bytes) -> str:
    """Keep a sound catalog, and give its id."""
    kept = manager(database).take_in(archive, "")
    assert isinstance(kept, Kept)
    return kept.release.id


def serve(database: Database, archive: bytes) -> str:
    """Keep a sound catalog and serve it without asking more of it, and give its id."""
    release, history = keep(database, archive), manager(database).history
    cases = CasesAsked(engine_revision=ENGINE_REVISION, passed=1, failed=0)
    ReleaseStore(database).note_cases(release, cases)
    event = NewEvent(kind="activated", release=release, by="Sunniva", at=AT, why="because")
    history.add(event, instead_of=history.standing().release)
    return release


def wanted(database: Database, release: str, by: str = "Sunniva", **more: str) -> Event | Refused:
    """Activate a release, with every change of an answer acknowledged."""
    return manager(database, by).activate(
        release, "because", on=TODAY, acknowledgements=changes(database, release), **more
    )


def changes(database: Database, release: str) -> tuple[Acknowledgement, ...]:
    """Acknowledge whatever a release changes now."""
    served = manager(database).history.standing().release
    if served is None:
        return ()
    seen = manager(database).impact(release, served, TODAY)
    return tuple(
        Acknowledgement(change=group.change, who="Sunniva", on=TODAY, why="they are the new prices")
        for group in seen.groups
    )


def release_of(archive: bytes) -> Release:
    """The release that an archive makes, read directly."""
    found = check_files(archive)
    assert isinstance(found, Sound)
    from rules.stored import from_stored

    return Release(id=found.release, catalog=from_stored(found.stored))


def large(megabytes: int) -> Files:
    """The small catalog with so many megabytes of parts besides."""
    files = dict(read_directory(DIRECTORY))
    grille = (
        "  - id: grille-{n}\n    name: Grilles {n}\n    kind: grille\n    slot: grille\n    at: [rear_pods]\n"
        "    spec: {{height_mm: {mm}}}\n"
        "    source: {{kind: maker_sheet, ref: Rushholm data sheet C{n}, date: 2025-01-08}}\n"
    )
    each = 4_000_000
    number = 0
    for index in range(-(-megabytes * 1_000_000 // each)):
        text = [f"line: line-{index}\nmaker: Rushholm\nname: Line {index}\nparts:\n"]
        while sum(map(len, text[-1:])) and len(text) * 210 < each:
            text.append(grille.format(n=number, mm=number % 40 + 1))
            number += 1
        files[f"parts/line-{index}.yaml"] = "".join(text).encode()
    return files
