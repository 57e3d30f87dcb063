"""A process follows the database, and serves the last good release whatever happens there."""

from __future__ import annotations

import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from rules.verdict import Verdict
from service.releasing.follower import Follower
from service.releasing.shelf import Shelf
from service.serving import Serving
from service.store.database import Database
from service.store.errors import StoreLost
from service.store.schema import history, releases
from tests.releasing.shelves import (
    ASKED,
    FIRST,
    PART,
    SECOND,
    TODAY,
    keep,
    manager,
    priced,
    release_of,
    serve,
)


class Process:
    """One process that serves: what it answers, and how often it swapped."""

    def __init__(self, database: Database, archive: bytes = FIRST) -> None:
        self.serving = Serving.of(release_of(archive))
        self.swaps = 0
        self.is_known = threading.Event()
        self.is_known.set()
        self.shelf = Shelf(database, most=2)
        self.follower = Follower(database, self.serving, self._swap, lambda _: self.is_known, self.shelf.find)

    def _swap(self, serving: Serving) -> None:
        self.shelf.put(self.serving)
        self.serving = serving
        self.swaps += 1

    @property
    def total(self) -> int | None:
        return self.serving.fit(ASKED).total


def test_every_process_follows_an_activation_and_a_way_back(database: Database) -> None:
    first = serve(database, FIRST)
    processes = [Process(database) for _ in range(3)]
    totals = []
    for act in (lambda: serve(database, SECOND), lambda: manager(database).roll_back("")):
        act()
        for process in processes:
            process.follower.follow()
        totals.append({process.total for process in processes})
    assert [len(told) for told in totals] == [1, 1]
    assert totals[0] != totals[1]
    assert {process.serving.release.id for process in processes} == {first}


def test_nothing_is_swapped_while_nothing_changes(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    for _ in range(3):
        process.follower.follow()
    keep(database, SECOND)
    manager(database).take_in(b"no archive", "")
    process.follower.follow()
    assert process.swaps == 0
    assert process.follower.followed.standing.refused


def test_a_hold_takes_effect_at_once_and_ends_when_it_is_lifted(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    names, verdicts = [process.serving.name], [process.serving.fit(ASKED).verdict]
    event = manager(database).hold(PART, "a batch has loose cones", TODAY)
    for _ in range(2):
        process.follower.follow()
        names.append(process.serving.name)
        verdicts.append(process.serving.fit(ASKED).verdict)
        if len(names) == 2:
            manager(database).lift(event.number, "checked")
    assert verdicts == [Verdict.FITS_WITH, Verdict.DOES_NOT_FIT, Verdict.FITS_WITH]
    assert names[0] == names[2] != names[1]


def test_a_hold_outlives_a_release(database: Database) -> None:
    serve(database, FIRST)
    manager(database).hold(PART, "loose cones", TODAY)
    second = serve(database, SECOND)
    process = Process(database)
    process.follower.follow()
    assert process.serving.release.id == second
    assert process.serving.fit(ASKED).verdict is Verdict.DOES_NOT_FIT


@contextmanager
def following(process: Process) -> Iterator[threading.Thread]:
    """Let a process follow that does not know yet what is asked most; in the end it has followed."""
    process.is_known.clear()
    follows = threading.Thread(target=process.follower.follow)
    follows.start()
    yield follows
    follows.join(60)
    assert not follows.is_alive()


@pytest.fixture
def patient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.releasing.follower.WARMED_S", 10_000)


@pytest.mark.usefixtures("patient")
def test_a_release_is_served_once_what_is_asked_most_is_known(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    second = serve(database, SECOND)
    with following(process) as follows:
        follows.join(1)
        assert process.swaps == 0
        process.is_known.set()
    assert process.serving.release.id == second


@pytest.mark.usefixtures("patient")
def test_a_hold_waits_for_nothing(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    manager(database).hold(PART, "loose cones", TODAY)
    with following(process):
        pass
    assert process.serving.fit(ASKED).verdict is Verdict.DOES_NOT_FIT


@pytest.mark.usefixtures("patient")
def test_a_way_back_waits_for_nothing(database: Database) -> None:
    first = serve(database, FIRST)
    serve(database, SECOND)
    process = Process(database)
    process.is_known.set()
    process.follower.follow()
    manager(database).roll_back("wrong price")
    with following(process):
        pass
    assert process.serving.release.id == first


def test_a_way_back_leads_to_all_that_was_known(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    first = process.serving
    serve(database, SECOND)
    process.follower.follow()
    manager(database).roll_back("wrong price")
    process.follower.follow()
    assert process.serving.engine is first.engine
    assert process.serving.table is first.table
    assert process.serving.number > first.number


def test_a_part_that_is_held_is_held_though_its_release_was_served_before(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    free = process.serving
    event = manager(database).hold(PART, "loose cones", TODAY)
    process.follower.follow()
    assert process.serving.fit(ASKED).verdict is Verdict.DOES_NOT_FIT
    manager(database).lift(event.number, "")
    process.follower.follow()
    assert process.serving.engine is free.engine


@pytest.mark.usefixtures("patient")
@pytest.mark.parametrize("haste", ["a client has seen it elsewhere", "a part is held", "the process stops"])
def test_a_release_that_waits_to_be_known_is_served_at_once_where_there_is_haste(
    database: Database, haste: str
) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    second = serve(database, SECOND)
    with following(process) as follows:
        while follows.is_alive():
            match haste:
                case "a client has seen it elsewhere":
                    process.follower.hurry()
                case "a part is held":
                    manager(database).hold(PART, "loose cones", TODAY)
                case _:
                    process.follower.stop()
            follows.join(0.5)
    assert process.serving.release.id == second


def test_a_release_is_made_ready_beside_answers_but_a_hold_and_a_way_back_at_once(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    rests: list[float] = []
    monkeypatch.setattr("service.giving_way.WORKS_S", 0.0)
    monkeypatch.setattr("service.giving_way.time.sleep", rests.append)
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    serve(database, SECOND)
    process.follower.follow()
    rested = len(rests)
    assert rested > 0
    manager(database).hold(PART, "loose cones", TODAY)
    process.follower.follow()
    manager(database).roll_back("")
    process.follower.follow()
    assert process.swaps == 3
    assert len(rests) == rested


def test_a_release_that_is_damaged_is_not_served_and_readiness_says_so(database: Database) -> None:
    first, second = serve(database, FIRST), serve(database, SECOND)
    manager(database).roll_back("")
    process = Process(database)
    process.follower.follow()
    with database.writing() as connection:
        damage = releases.update().where(releases.c.id == second)
        connection.execute(damage.values(archive=b"x", stored=b"x"))
        connection.execute(
            history.insert().values(
                number=4,
                kind="activated",
                release=second,
                why="",
                detail="",
                by="",
                at=manager(database).now(),
            )
        )
    followed = process.follower.follow()
    assert process.serving.release.id == first
    assert followed.standing.release == second
    assert followed.trouble
    assert "damaged" in followed.trouble
    keep(database, SECOND)
    assert process.follower.follow(at_once=True).trouble is None
    assert process.serving.release.id == second


def test_a_release_whose_stored_form_alone_is_damaged_is_read_from_its_files(database: Database) -> None:
    second = serve(database, SECOND)
    with database.writing() as connection:
        connection.execute(releases.update().where(releases.c.id == second).values(stored=b"x"))
    process = Process(database)
    process.follower.follow()
    assert (process.serving.release.id, process.follower.followed.trouble) == (second, None)


def test_what_cannot_be_opened_is_tried_again_ever_more_seldom(
    database: Database, monkeypatch: pytest.MonkeyPatch
) -> None:
    serve(database, SECOND)
    process, tries = Process(database), 0

    def fail(*_: object) -> object:
        nonlocal tries
        tries += 1
        raise MemoryError

    monkeypatch.setattr("service.releasing.follower.open_release", fail)
    for _ in range(64):
        process.follower.follow()
    assert tries == 7
    assert process.swaps == 0
    monkeypatch.undo()
    for _ in range(64):
        process.follower.follow()
    assert process.swaps == 1


class Flaky(Database):
    """A database that can be gone for a while."""

    is_gone = False

    @contextmanager
    def reading(self) -> Any:
        if self.is_gone:
            raise StoreLost
        with super().reading() as connection:
            yield connection


def test_a_process_serves_on_while_the_database_is_gone_and_catches_up(
    database: Database, address: str
) -> None:
    first = serve(database, FIRST)
    flaky = Flaky(address)
    process = Process(flaky)
    process.follower.follow()
    flaky.is_gone = True
    second = serve(database, SECOND)
    for _ in range(60):
        assert not process.follower.follow().is_reached
    assert process.serving.release.id == first
    flaky.is_gone = False
    assert process.follower.follow().is_reached
    assert process.serving.release.id == second
    flaky.close()


def test_older_releases_can_be_asked_about_and_a_few_are_held(database: Database) -> None:
    served = [serve(database, archive) for archive in (FIRST, SECOND, priced(9_700))]
    shelf = Shelf(database, most=2)
    totals = []
    for release in served:
        older = shelf.open(name_of(release))
        assert older
        totals.append(older.fit(ASKED).total)
    assert len(set(totals)) == 3
    assert shelf.find(name_of(served[0])) is None
    assert shelf.find(name_of(served[2]))


def name_of(release: str) -> str:
    return f"{release}.{Serving.of(release_of(FIRST)).engine_revision}"


def test_an_older_release_is_asked_about_with_the_holds_in_its_name(database: Database) -> None:
    serve(database, FIRST)
    process = Process(database)
    process.follower.follow()
    free = process.serving.name
    event = manager(database).hold(PART, "loose cones", TODAY)
    process.follower.follow()
    held = process.serving.name
    manager(database).lift(event.number, "")
    serve(database, SECOND)
    shelf = Shelf(database, most=4)
    verdicts = [opened.fit(ASKED).verdict for name in (free, held) if (opened := shelf.open(name))]
    assert verdicts == [Verdict.FITS_WITH, Verdict.DOES_NOT_FIT]


def test_what_was_never_served_cannot_be_asked_about(database: Database) -> None:
    first, second = serve(database, FIRST), keep(database, SECOND)
    shelf = Shelf(database, most=4)
    name = name_of(first)
    for odd in (name_of(second), first, f"{first}.0", f"{name}.h0", "", ".", "x" * 200, f"{name}."):
        assert shelf.open(odd) is None


@pytest.mark.parametrize(
    ("last", "first"), [(date(2026, 12, 31), date(2027, 1, 1)), (date(2026, 5, 1), date(2026, 5, 2))]
)
def test_a_price_that_begins_tomorrow_counts_tomorrow_without_a_release(
    database: Database, last: date, first: date
) -> None:
    archive = _with_list_from(first, last)
    serve(database, archive)
    process = Process(database, archive)
    ask: Callable[[date], int | None] = lambda on: process.serving.fit(replace(ASKED, on=on)).total  # noqa: E731
    today, tomorrow = ask(last), ask(first)
    assert today is not None
    assert tomorrow == today + 1_000
    assert (ask(last), process.swaps) == (today, 0)


def _with_list_from(first: date, last: date) -> bytes:
    from service.releasing.files import read_archive, write_archive

    files = dict(read_archive(FIRST))
    text = files["prices/2026.yaml"].decode()
    later = text.replace('"2026"', '"later"').replace("2026-01-01", first.isoformat())
    files["prices/later.yaml"] = later.replace("curlew-slim: 9900", "curlew-slim: 10900").encode()
    files["prices/2026.yaml"] = text.replace("last: 2027-12-31", f"last: {last.isoformat()}").encode()
    return write_archive(files)
