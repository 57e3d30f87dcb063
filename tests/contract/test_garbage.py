"""What goes in cycles is let go of when nobody asks, and answers do not wait until everything has been gone through."""

from __future__ import annotations

import gc
import threading
import time
import weakref
from collections.abc import Iterator
from contextlib import contextmanager
from itertools import count
from math import inf
from typing import Any

import pytest
from anyio.from_thread import start_blocking_portal

from service.garbage import Garbage, settle
from service.serving import Serving
from tests.contract.small import small_release


class Held:
    """Holds itself."""

    def __init__(self) -> None:
        self.held = self


OURS: set[int] = set()
"""Threads that look for garbage here."""


@pytest.fixture(autouse=True)
def nothing_set_aside(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    # Applications that other tests have left running in this process leave it alone meanwhile.
    monkeypatch.setattr("service.garbage.settle", lambda: settle() if threading.get_ident() in OURS else None)
    gc.collect()
    yield
    gc.unfreeze()


@contextmanager
def looking(garbage: Garbage) -> Iterator[None]:
    """A loop in which garbage is looked for, which another thread runs."""

    async def start() -> None:
        OURS.add(threading.get_ident())
        garbage.start()

    with start_blocking_portal() as portal:
        portal.call(start)
        yield
        portal.call(garbage.stop)


def gone() -> weakref.ref[Held]:
    """Give what nobody holds any more, and no short search goes through."""
    ref = weakref.ref(Held())
    gc.freeze()
    return ref


def is_let_go(ref: weakref.ref[Any], within_s: float = 30.0) -> bool:
    ends = time.monotonic() + within_s
    while ref() is not None and time.monotonic() < ends:
        time.sleep(0.01)
    return ref() is None


def test_a_release_that_is_served_is_not_searched() -> None:
    serving = Serving.of(small_release())
    settle()
    assert not any(x is serving.engine for x in gc.get_objects())
    gc.unfreeze()
    assert any(x is serving.engine for x in gc.get_objects())


def test_a_release_that_nobody_holds_any_more_is_let_go() -> None:
    serving = Serving.of(small_release())
    engine = weakref.ref(serving.engine)
    settle()
    del serving
    garbage = Garbage(lambda: 0)
    with looking(garbage):
        garbage.expect()
        assert is_let_go(engine)


def test_it_is_looked_for_when_nobody_asks() -> None:
    asked, is_asked = count(), threading.Event()
    is_asked.set()
    garbage, ref = Garbage(lambda: next(asked) if is_asked.is_set() else 0), gone()
    with looking(garbage):
        garbage.expect()
        assert not is_let_go(ref, within_s=1)
        is_asked.clear()
        assert is_let_go(ref)


def test_it_is_looked_for_though_somebody_always_asks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.garbage.SETTLES_S", 0.0)
    asked = count()
    garbage, ref = Garbage(lambda: next(asked)), gone()
    with looking(garbage):
        garbage.expect()
        assert is_let_go(ref)


def test_it_is_not_looked_for_beside_answers_while_a_release_is_taken_in() -> None:
    asked, is_growing, ref = count(), threading.Event(), gone()
    is_growing.set()
    garbage = Garbage(lambda: next(asked), is_growing.is_set)
    with looking(garbage):
        garbage._settles_by = 0.0
        assert not is_let_go(ref, within_s=1)
        is_growing.clear()
        garbage._settles_by = 0.0
        assert is_let_go(ref)


def test_it_is_not_looked_for_where_nothing_is_expected() -> None:
    ref = gone()
    with looking(Garbage(lambda: 0)):
        assert not is_let_go(ref, within_s=1)


@pytest.mark.parametrize(("long_s", "is_searched_again"), [(-1.0, False), (3_600.0, True)])
def test_what_a_long_search_went_through_is_set_aside(
    monkeypatch: pytest.MonkeyPatch, *, long_s: float, is_searched_again: bool
) -> None:
    monkeypatch.setattr("service.garbage.LONG_S", long_s)
    asked = count()
    kept = Held()
    with looking(Garbage(lambda: next(asked))):
        gc.collect(1)
        assert any(x is kept for x in gc.get_objects())
        gc.collect()
        assert any(x is kept for x in gc.get_objects()) == is_searched_again


def test_what_was_set_aside_and_has_gone_since_is_let_go(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.garbage.LONG_S", -1.0)
    kept = Held()
    ref = weakref.ref(kept)
    with looking(Garbage(lambda: 0)):
        gc.collect()
        del kept
        assert is_let_go(ref)


def test_everything_is_not_gone_through_again_for_little(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.garbage.LONG_S", -1.0)
    garbage, ref = Garbage(lambda: 0), gone()
    garbage._settling_s = 3_600.0
    with looking(garbage):
        gc.collect()
        assert not is_let_go(ref, within_s=1)


def test_going_through_everything_is_no_reason_to_do_it_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.garbage.LONG_S", -1.0)
    one, other = Garbage(lambda: 0), Garbage(lambda: 0)
    with looking(one), looking(other):
        settle()
        assert (one._settles_by, other._settles_by) == (inf, inf)


def test_nothing_is_looked_at_once_it_is_stopped() -> None:
    before = list(gc.callbacks)
    with looking(Garbage(lambda: 0)):
        assert len(gc.callbacks) == len(before) + 1
    assert gc.callbacks == before
