"""Long work in the interpreter that answers gives way to answers."""

from __future__ import annotations

import sys
import threading
import time

import pytest

from service.giving_way import giving_way

WORK = 20_000
"""Calls: some ten milliseconds, however quick the machine."""


@pytest.fixture
def rests(monkeypatch: pytest.MonkeyPatch) -> list[float]:
    found: list[float] = []
    monkeypatch.setattr(time, "sleep", found.append)
    return found


def step(so_far: int, by: int) -> int:
    return so_far + by


def work() -> int:
    done = 0
    for number in range(WORK):
        done = step(done, number)
    return done


def test_it_rests_again_and_again_and_comes_to_the_same(rests: list[float]) -> None:
    with giving_way():
        done = work()
    assert done == sum(range(WORK))
    assert len(rests) > 2


def test_what_is_wanted_at_once_goes_on(rests: list[float]) -> None:
    with giving_way(lambda: True):
        work()
    assert rests == []


def test_it_goes_on_from_when_it_is_wanted_at_once(rests: list[float]) -> None:
    with giving_way(lambda: len(rests) == 2):
        work()
    assert len(rests) == 2


def test_other_threads_do_not_rest(rests: list[float]) -> None:
    other = threading.Thread(target=work)
    with giving_way(lambda: threading.current_thread() is not other):
        other.start()
        other.join()
    assert rests == []


def test_what_measured_calls_before_does_so_again() -> None:
    def measure(*_: object) -> None:
        """Measure nothing."""

    sys.setprofile(measure)
    try:
        with pytest.raises(ZeroDivisionError), giving_way():
            work() // 0
        assert sys.getprofile() is measure
    finally:
        sys.setprofile(None)
