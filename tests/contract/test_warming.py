"""After a release what was asked most is worked out before anybody asks again, and nobody waits for that."""

from __future__ import annotations

import threading
import weakref
from collections.abc import Iterator
from dataclasses import replace

import pytest
from fastapi.testclient import TestClient

from rules.engine import Engine
from rules.question import FitQuestion
from service.serving import Serving
from service.storefront.answers import fit_recipe, fit_response
from service.storefront.warming import Warmer
from tests.contract.small import TODAY, small_app, small_release
from tests.releasing.shelves import SECOND, serve

BIKE = "bittern-2019-plain"
MOST, LESS = (FitQuestion(bike=BIKE, part=part, on=TODAY) for part in ("curlew-slim", "curlew-deep"))


def ask(serving: Serving, question: FitQuestion) -> bytes:
    return fit_response(fit_recipe(question, serving), question, serving)


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
def busy() -> threading.Event:
    return threading.Event()


@pytest.fixture
def warmer(busy: threading.Event) -> Iterator[Warmer]:
    made = Warmer(today=lambda: TODAY, is_busy=busy.is_set)
    yield made
    made.stop()


def done(warmer: Warmer) -> None:
    assert warmer._thread is not None
    warmer._thread.join(60)
    assert not warmer._thread.is_alive()


def test_what_was_asked_is_known_after_a_release_and_answered_as_if_it_were_not(
    old: Serving, new: Serving, warmer: Warmer
) -> None:
    warmer.after(old, new)
    done(warmer)
    assert is_known(new, MOST)
    assert is_known(new, LESS)
    cold = Serving.of(replace(small_release(), id="r-next"))
    assert ask(new, MOST) == ask(cold, MOST) != ask(old, MOST)


def test_what_was_asked_most_comes_first_and_counts_on(old: Serving, new: Serving, warmer: Warmer) -> None:
    warmer.after(old, new)
    done(warmer)
    assert [pair[1] for pair, _ in new.table.asked.most_common()] == ["curlew-slim", "curlew-deep"]
    assert list(new.table._rows[BIKE, None, "shop", new.table.periods.number(TODAY)].recipes) == [
        "curlew-slim",
        "curlew-deep",
    ]


def test_nothing_is_worked_out_while_somebody_waits(
    old: Serving, new: Serving, warmer: Warmer, busy: threading.Event
) -> None:
    busy.set()
    warmer.after(old, new)
    warmer.stop()
    assert len(new.table) == 0


def test_a_pair_that_is_gone_is_passed_over(old: Serving, new: Serving, warmer: Warmer) -> None:
    old.table.asked["no-such-bike", "curlew-slim", None, "shop"] = 9
    warmer.after(old, new)
    done(warmer)
    assert len(new.table) == 2


def test_a_release_that_nobody_holds_any_more_is_let_go(new: Serving, warmer: Warmer) -> None:
    forgotten = Serving.of(small_release())
    ask(forgotten, MOST)
    engine = weakref.ref(forgotten.engine)
    warmer.after(forgotten, new)
    del forgotten
    done(warmer)
    assert engine() is None


def test_a_number_alone_needs_no_warming(old: Serving, warmer: Warmer) -> None:
    warmer.after(old, old.renumbered(7))
    assert warmer._thread is None


def test_a_release_begins_with_what_was_asked_under_the_one_before() -> None:
    app = small_app(Engine)
    with TestClient(app) as shop:
        shop.get(f"/v1/fitment/{BIKE}/curlew-slim")
        serve(app.state.office.database, SECOND)
        app.state.office.follower.follow(at_once=True)
        done(app.state.warmer)
        assert app.state.serving.release.id != "r-small"
        assert is_known(app.state.serving, MOST)
