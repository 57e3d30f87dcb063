"""A release is served once what was asked most before it is worked out, and nobody waits for that."""

from __future__ import annotations

import gc
import threading
import weakref
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from itertools import count
from math import inf

import pytest
from fastapi.testclient import TestClient

from rules.engine import Engine
from rules.question import FitQuestion
from service.releasing.ahead import Ahead
from service.serving import Serving
from service.storefront.answers import fit_recipe, fit_response
from service.storefront.table import Asked
from service.storefront.warming import Judged, Warmer, judge_here, judged, settle
from tests.contract.office import office_for
from tests.contract.small import DIRECTORY, TODAY, small_app, small_release
from tests.releasing.shelves import SECOND, serve

BIKE = "bittern-2019-plain"
MOST, LESS = (FitQuestion(bike=BIKE, part=part, on=TODAY) for part in ("curlew-slim", "curlew-deep"))
GONE = FitQuestion(bike="no-such-bike", part="curlew-slim", on=TODAY)


def pair(question: FitQuestion) -> Asked:
    """Give what is asked, without the day."""
    return question.bike, question.part, question.place, question.fitter


def ask(serving: Serving, question: FitQuestion) -> bytes:
    return fit_response(fit_recipe(question, serving), question.on, serving)


def is_known(serving: Serving, question: FitQuestion) -> bool:
    found = serving.table.find(question.bike, question.part, question.place, question.fitter, question.on)
    return found is not None


@pytest.fixture
def old() -> Serving:
    serving = Serving.of(small_release())
    for question in (MOST, LESS, MOST):
        ask(serving, question)
    return serving


@pytest.fixture
def new() -> Serving:
    return Serving.of(replace(small_release(), id="r-next"))


@pytest.fixture
def warmer() -> Iterator[Warmer]:
    made = Warmer(today=lambda: TODAY)
    yield made
    made.stop()


def done(warmer: Warmer) -> None:
    assert warmer._thread is not None
    warmer._thread.join(60)
    assert not warmer._thread.is_alive()


def test_what_was_asked_is_known_under_the_next_release_and_answered_as_if_it_were_not(
    old: Serving, new: Serving, warmer: Warmer
) -> None:
    assert warmer.begin(old, new).wait(60)
    assert is_known(new, MOST)
    assert is_known(new, LESS)
    cold = Serving.of(replace(small_release(), id="r-next"))
    assert ask(new, MOST) == ask(cold, MOST) != ask(old, MOST)


def test_what_was_asked_most_comes_first_and_counts_on(old: Serving, new: Serving, warmer: Warmer) -> None:
    warmer.begin(old, new)
    done(warmer)
    assert [part for (_, part, _, _), _ in new.table.asked().most_common()] == ["curlew-slim", "curlew-deep"]
    assert list(new.table._rows[BIKE, None, "shop", new.table.periods.number(TODAY)].recipes) == [
        "curlew-slim",
        "curlew-deep",
    ]


def test_a_release_is_ready_before_what_hardly_anybody_asks_is_known(old: Serving, new: Serving) -> None:
    for _ in range(2_000):
        ask(old, MOST)
    go_on = threading.Event()

    def slowly(serving: Serving, pairs: Sequence[Asked], on: date, _: threading.Event) -> Iterator[Judged]:
        for one in pairs:
            yield judged(one, on, serving)
            go_on.wait(60)

    warmer = Warmer(lambda: TODAY, slowly)
    assert warmer.begin(old, new).wait(60)
    assert (is_known(new, MOST), is_known(new, LESS)) == (True, False)
    go_on.set()
    warmer.stop()
    assert is_known(new, LESS)


def test_a_release_is_ready_though_nothing_can_be_worked_out(old: Serving, new: Serving) -> None:
    warmer = Warmer(lambda: TODAY, lambda *_: iter(()))
    assert warmer.begin(old, new).wait(60)
    warmer.stop()
    assert len(new.table) == 0


def test_what_is_known_of_a_release_already_is_not_worked_out_again(old: Serving, new: Serving) -> None:
    worked_out: list[str] = []

    def noted(
        serving: Serving, pairs: Sequence[Asked], on: date, stopped: threading.Event
    ) -> Iterator[Judged]:
        worked_out.extend(part for _, part, _, _ in pairs)
        yield from judge_here(serving, pairs, on, stopped)

    ask(new, MOST)
    warmer = Warmer(today=lambda: TODAY, judge=noted)
    assert warmer.begin(old, new).wait(60)
    done(warmer)
    assert worked_out == [LESS.part]
    assert is_known(new, LESS)


def test_nothing_is_worked_out_once_it_is_to_stop(new: Serving) -> None:
    stopped = threading.Event()
    stopped.set()
    assert list(judge_here(new, [pair(MOST)], TODAY, stopped)) == []


def test_a_pair_that_is_gone_is_passed_over(old: Serving, new: Serving, warmer: Warmer) -> None:
    old.table.expect({(GONE.bike, GONE.part, None, "shop"): 9})
    warmer.begin(old, new)
    done(warmer)
    assert len(new.table) == 2


def test_a_release_that_nobody_holds_any_more_is_let_go(new: Serving, warmer: Warmer) -> None:
    forgotten = Serving.of(small_release())
    ask(forgotten, MOST)
    engine = weakref.ref(forgotten.engine)
    warmer.begin(forgotten, new)
    del forgotten
    done(warmer)
    assert engine() is None


def test_what_nobody_holds_any_more_is_looked_for_when_nobody_asks(old: Serving, new: Serving) -> None:
    asked, is_asked = count(), threading.Event()
    is_asked.set()
    warmer = Warmer(lambda: TODAY, answered=lambda: next(asked) if is_asked.is_set() else 0)
    assert warmer.begin(old, new).wait(60)
    assert warmer._thread is not None
    warmer._thread.join(1)
    assert warmer._thread.is_alive()
    is_asked.clear()
    done(warmer)
    assert warmer._settles_by == inf


def test_what_nobody_holds_any_more_is_let_go_though_releases_follow_one_another(
    old: Serving, new: Serving, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.storefront.warming.SETTLES_S", 0.0)
    asked = count()

    def never_done(_: Serving, __: Sequence[Asked], ___: date, stopped: threading.Event) -> Iterator[Judged]:
        stopped.wait(60)
        yield from ()

    warmer = Warmer(lambda: TODAY, never_done, answered=lambda: next(asked))
    warmer.begin(old, new)
    warmer.stop()
    assert warmer._settles_by == inf


def test_a_release_that_is_served_is_not_searched_for_garbage() -> None:
    serving = Serving.of(small_release())
    settle()
    assert not any(x is serving.engine for x in gc.get_objects())
    gc.unfreeze()
    assert any(x is serving.engine for x in gc.get_objects())


def test_a_release_begins_with_what_was_asked_under_the_one_before() -> None:
    app = small_app(Engine)
    with TestClient(app) as shop:
        shop.get(f"/v1/fitment/{BIKE}/curlew-slim")
        serve(app.state.office.database, SECOND)
        app.state.office.follower.follow(at_once=True)
        assert app.state.serving.release.id != "r-small"
        assert is_known(app.state.serving, MOST)


def test_a_process_apart_works_out_the_same(new: Serving) -> None:
    office = office_for(small_release(), DIRECTORY)
    here = Serving.of(small_release())
    pairs = [pair(x) for x in (MOST, GONE, LESS)]
    apart = list(Ahead(office.database)(here, pairs, TODAY, threading.Event()))
    assert [(x.question, x.recipe) for x in apart] == [
        (x.question, x.recipe) for x in (judged(one, TODAY, here) for one in pairs)
    ]


def test_a_process_apart_that_finds_no_release_ends_without_a_word(new: Serving) -> None:
    office = office_for(small_release(), DIRECTORY)
    assert list(Ahead(office.database)(new, [pair(MOST)], TODAY, threading.Event())) == []


def test_a_process_apart_is_ended_when_nobody_wants_its_pairs_any_more() -> None:
    office, stopped = office_for(small_release(), DIRECTORY), threading.Event()
    found = Ahead(office.database)(Serving.of(small_release()), [pair(MOST)] * 100_000, TODAY, stopped)
    assert next(found).question == MOST
    stopped.set()
    assert len(list(found)) < 99_999
