"""What is served follows from what happened, and two people never overwrite one another."""

from __future__ import annotations

import threading
from datetime import UTC, date, datetime

import pytest

from service.store.database import Database
from service.store.errors import DamagedRelease
from service.store.events import NewEvent, Overtaken, Standing
from service.store.history import History
from service.store.kept import CasesAsked
from service.store.releases import ReleaseStore
from service.store.schema import releases

AT = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)


@pytest.fixture
def history(database: Database) -> History:
    kept = ReleaseStore(database)
    for name in ("r-1", "r-2", "r-3"):
        keep(kept, name)
    return History(database)


def keep(store: ReleaseStore, name: str, by: str = "Sunniva") -> bool:
    return store.keep(name, archive=b"files", stored=b"form", counts={"parts": 2}, by=by, at=AT)


def activate(history: History, release: str, instead_of: str | None) -> int:
    entry = NewEvent(kind="activated", release=release, by="Sunniva", at=AT, why="new prices")
    return history.add(entry, instead_of=instead_of).number


def hold(history: History, part: str = "tern-52", last: date | None = None) -> int:
    entry = NewEvent(kind="held", part=part, first=AT.date(), last=last, by="Odd", at=AT, why="loose cones")
    return history.add(entry).number


def lift(history: History, number: int) -> int:
    return history.add(NewEvent(kind="lifted", lifts=number, by="Odd", at=AT, why="checked")).number


def test_nothing_is_served_before_the_first_release(history: History) -> None:
    assert history.standing() == Standing()
    assert history.latest() == 0


def test_the_latest_release_is_served_with_who_when_and_why(history: History) -> None:
    activate(history, "r-1", None)
    activate(history, "r-2", "r-1")
    standing = history.standing()
    assert standing.active
    assert (standing.number, standing.release) == (2, "r-2")
    assert (standing.active.by, standing.active.at, standing.active.why) == ("Sunniva", AT, "new prices")


def test_who_releases_over_somebody_elses_release_is_told(history: History) -> None:
    activate(history, "r-1", None)
    activate(history, "r-2", "r-1")
    with pytest.raises(Overtaken) as caught:
        activate(history, "r-3", "r-1")
    assert caught.value.standing.release == "r-2"
    assert history.latest() == 2


def test_holds_outlive_releases_until_they_are_lifted(history: History) -> None:
    activate(history, "r-1", None)
    first, second = hold(history), hold(history, "tern-65", date(2026, 6, 1))
    activate(history, "r-2", "r-1")
    assert [event.number for event in history.standing().holds] == [first, second]
    lift(history, first)
    assert [event.part for event in history.standing().holds] == ["tern-65"]
    with pytest.raises(Overtaken):
        lift(history, first)


def test_a_refusal_is_told_until_the_next_release(history: History) -> None:
    activate(history, "r-1", None)
    refused = NewEvent(kind="refused", release="r-2", by="Odd", at=AT, why="new year", detail="2 cases fail")
    history.add(refused)
    standing = history.standing()
    assert standing.release == "r-1"
    assert standing.refused
    assert standing.refused.detail == "2 cases fail"
    activate(history, "r-3", "r-1")
    assert history.standing().refused is None


def test_releases_served_are_listed_once_the_latest_first(history: History) -> None:
    for release, before in (("r-1", None), ("r-2", "r-1"), ("r-1", "r-2"), ("r-3", "r-1")):
        activate(history, release, before)
    assert history.served(20) == ["r-3", "r-1", "r-2"]
    assert history.served(2) == ["r-3", "r-1"]


def test_every_set_of_holds_under_a_release_can_be_found_again(history: History) -> None:
    activate(history, "r-1", None)
    number = hold(history)
    activate(history, "r-2", "r-1")
    lift(history, number)
    found = {release: history.was_holding(release) for release in ("r-1", "r-2", "r-3")}
    parts = {release: [[x.part for x in holds] for holds in sets] for release, sets in found.items()}
    assert parts == {"r-1": [["tern-52"], []], "r-2": [[], ["tern-52"]], "r-3": []}


def test_events_are_listed_in_pages_the_latest_first(history: History) -> None:
    for _ in range(5):
        hold(history)
    assert [event.number for event in history.newest(2)] == [5, 4]
    assert [event.number for event in history.newest(3, before=4)] == [3, 2, 1]


def test_many_writers_at_once_leave_no_gap_and_lose_nothing(database: Database, history: History) -> None:
    def hold_some() -> None:
        for _ in range(5):
            hold(History(database))

    threads = [threading.Thread(target=hold_some) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [event.number for event in reversed(history.newest(100))] == list(range(1, 21))


def test_of_many_who_release_at_once_over_the_same_release_one_comes_through(
    database: Database, history: History
) -> None:
    outcomes: list[str] = []

    def release(name: str) -> None:
        try:
            activate(History(database), name, None)
            outcomes.append(name)
        except Overtaken:
            outcomes.append("overtaken")

    threads = [threading.Thread(target=release, args=[name]) for name in ("r-1", "r-2", "r-3")]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert outcomes.count("overtaken") == 2
    assert history.standing().release in outcomes
    assert history.latest() == 1


def test_a_release_is_kept_once_and_never_changed(database: Database, history: History) -> None:
    store = ReleaseStore(database)
    assert keep(store, "r-9")
    assert not keep(store, "r-9", by="Odd")
    found = store.find("r-9")
    assert found
    assert (found.kept_by, found.kept_at, found.counts) == ("Sunniva", AT, {"parts": 2})
    assert store.stored("r-9") == b"form"
    assert store.archive("r-9") == b"files"
    assert store.find("r-10") is None
    assert store.stored("r-10") is None


def test_what_came_of_the_cases_is_remembered(database: Database, history: History) -> None:
    store = ReleaseStore(database)
    asked = CasesAsked(engine_revision=2, passed=10, failed=0)
    store.note_cases("r-1", asked)
    found = store.find("r-1")
    assert found
    assert found.cases == asked


def test_releases_are_listed_in_pages(database: Database, history: History) -> None:
    store = ReleaseStore(database)
    assert [release.id for release in store.newest(2)] == ["r-1", "r-2"]
    assert [release.id for release in store.newest(2, before="r-2")] == ["r-3"]
    assert store.newest(2, before="r-99") == []


def test_whether_a_release_was_ever_served_is_known(database: Database, history: History) -> None:
    activate(history, "r-1", None)
    store = ReleaseStore(database)
    assert store.was_active("r-1")
    assert not store.was_active("r-2")


@pytest.mark.parametrize("column", ["stored", "archive"])
def test_a_release_that_was_changed_in_the_database_is_refused(
    database: Database, history: History, column: str
) -> None:
    with database.writing() as connection:
        connection.execute(releases.update().where(releases.c.id == "r-1").values({column: b"other"}))
    store = ReleaseStore(database)
    with pytest.raises(DamagedRelease):
        getattr(store, column)("r-1")
    assert not keep(store, "r-1"), "it was there, and is mended"
    assert (store.stored("r-1"), store.archive("r-1")) == (b"form", b"files")
