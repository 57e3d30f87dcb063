"""A release is served once what was asked most before it is worked out, and nobody waits for that."""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import AsyncGenerator, Callable, Iterator, Sequence
from contextlib import aclosing, contextmanager, suppress
from dataclasses import replace
from datetime import date
from multiprocessing import active_children

import pytest
from anyio.from_thread import start_blocking_portal
from fastapi.testclient import TestClient

from rules.engine import Engine
from rules.question import FitQuestion
from service.releasing.ahead import Ahead
from service.serving import Serving
from service.storefront.answers import fit_recipe, fit_response
from service.storefront.table import Asked
from service.storefront.warming import Judge, Judged, Warmer, judge_here, judged
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


@contextmanager
def warming(judge: Judge = judge_here, done: Callable[[], None] = lambda: None) -> Iterator[Warmer]:
    """A warmer that works in a loop, which another thread runs."""
    made = Warmer(lambda: TODAY, judge, done)
    with start_blocking_portal() as portal:
        made.start(portal.call(asyncio.get_running_loop))
        yield made
        portal.call(made.stop)


@pytest.fixture
def warmer() -> Iterator[Warmer]:
    with warming() as made:
        yield made


def is_done(warmer: Warmer, within_s: float = 60.0) -> bool:
    ends = time.monotonic() + within_s
    while warmer._tasks and time.monotonic() < ends:
        time.sleep(0.01)
    return not warmer._tasks


def test_what_was_asked_is_known_under_the_next_release_and_answered_as_if_it_were_not(
    old: Serving, new: Serving, warmer: Warmer
) -> None:
    assert warmer.begin(old, new).wait(60)
    assert is_known(new, MOST)
    assert is_known(new, LESS)
    cold = Serving.of(replace(small_release(), id="r-next"))
    assert ask(new, MOST) == ask(cold, MOST) != ask(old, MOST)


def test_what_was_asked_most_comes_first_and_counts_on(old: Serving, new: Serving, warmer: Warmer) -> None:
    assert warmer.begin(old, new).wait(60)
    assert is_done(warmer)
    assert [part for (_, part, _, _), _ in new.table.asked().most_common()] == ["curlew-slim", "curlew-deep"]
    assert list(new.table._rows[BIKE, None, "shop", new.table.periods.number(TODAY)].recipes) == [
        "curlew-slim",
        "curlew-deep",
    ]


def test_a_release_is_ready_before_what_hardly_anybody_asks_is_known(old: Serving, new: Serving) -> None:
    for _ in range(2_000):
        ask(old, MOST)
    go_on = threading.Event()

    async def slowly(serving: Serving, pairs: Sequence[Asked], on: date) -> AsyncGenerator[Judged, None]:
        for one in pairs:
            yield judged(one, on, serving)
            await asyncio.to_thread(go_on.wait, 60)

    with warming(slowly) as warmer:
        assert warmer.begin(old, new).wait(60)
        assert (is_known(new, MOST), is_known(new, LESS)) == (True, False)
        go_on.set()
        assert is_done(warmer)
    assert is_known(new, LESS)


def test_a_release_is_ready_though_nothing_can_be_worked_out(old: Serving, new: Serving) -> None:
    with warming(lambda serving, _, on: judge_here(serving, [], on)) as warmer:
        assert warmer.begin(old, new).wait(60)
    assert len(new.table) == 0


def test_a_release_is_ready_at_once_where_nobody_is_answered_yet_or_any_more(
    old: Serving, new: Serving
) -> None:
    assert Warmer(lambda: TODAY).begin(old, new).is_set()
    with warming() as warmer:
        pass
    assert warmer.begin(old, new).is_set()
    assert len(new.table) == 0


def test_what_is_known_of_a_release_already_is_not_worked_out_again(old: Serving, new: Serving) -> None:
    worked_out: list[str] = []

    def noted(serving: Serving, pairs: Sequence[Asked], on: date) -> AsyncGenerator[Judged, None]:
        worked_out.extend(part for _, part, _, _ in pairs)
        return judge_here(serving, pairs, on)

    ask(new, MOST)
    with warming(noted) as warmer:
        assert warmer.begin(old, new).wait(60)
    assert worked_out == [LESS.part]
    assert is_known(new, LESS)


def test_what_was_begun_for_the_release_before_is_left_off(old: Serving, new: Serving) -> None:
    begun, left_off = threading.Event(), threading.Event()

    async def never_unless_new(
        serving: Serving, pairs: Sequence[Asked], on: date
    ) -> AsyncGenerator[Judged, None]:
        begun.set()
        try:
            await asyncio.sleep(0 if serving is new else 60)
        finally:
            left_off.set()
        for one in pairs:
            yield judged(one, on, serving)

    with warming(never_unless_new) as warmer:
        before = warmer.begin(old, Serving.of(small_release()))
        assert begun.wait(60)
        assert not left_off.is_set()
        assert warmer.begin(old, new).wait(60)
        assert left_off.is_set()
        assert before.wait(60)
    assert is_known(new, MOST)


def test_who_asks_is_answered_before_more_is_taken_in(old: Serving, new: Serving) -> None:
    known: list[int] = []

    def looked_at_each_turn(
        serving: Serving, pairs: Sequence[Asked], on: date
    ) -> AsyncGenerator[Judged, None]:
        loop = asyncio.get_running_loop()

        def look() -> None:
            known.append(len(serving.table))
            if len(serving.table) < len(pairs):
                loop.call_soon(look)

        loop.call_soon(look)
        return judge_here(serving, pairs, on)

    with warming(looked_at_each_turn) as warmer:
        assert warmer.begin(old, new).wait(60)
    assert {1, 2} <= set(known)


def test_a_pair_that_is_gone_is_passed_over(old: Serving, new: Serving, warmer: Warmer) -> None:
    old.table.expect({(GONE.bike, GONE.part, None, "shop"): 9})
    assert warmer.begin(old, new).wait(60)
    assert is_done(warmer)
    assert len(new.table) == 2


def test_garbage_is_looked_for_when_the_release_before_may_be_gone(old: Serving, new: Serving) -> None:
    done: list[bool] = []

    async def never_done(serving: Serving, pairs: Sequence[Asked], on: date) -> AsyncGenerator[Judged, None]:
        for pair in pairs:
            yield judged(pair, on, serving)
        await asyncio.sleep(60)

    for judge in (judge_here, never_done):
        with warming(judge, lambda: done.append(True)) as warmer:
            assert warmer.begin(old, new).wait(60)
            assert judge is never_done or is_done(warmer)
    assert done == [True, True], "though the latter was left off"


def test_a_release_begins_with_what_was_asked_under_the_one_before() -> None:
    app = small_app(Engine)
    with TestClient(app) as shop:
        shop.get(f"/v1/fitment/{BIKE}/curlew-slim")
        serve(app.state.office.database, SECOND)
        app.state.office.follower.follow(at_once=True)
        assert app.state.serving.release.id != "r-small"
        assert is_known(app.state.serving, MOST)


async def all_of(judging: AsyncGenerator[Judged, None]) -> list[Judged]:
    return [one async for one in judging]


def test_a_process_apart_works_out_the_same() -> None:
    office = office_for(small_release(), DIRECTORY)
    here = Serving.of(small_release())
    pairs = [pair(x) for x in (MOST, GONE, LESS)]
    apart = asyncio.run(all_of(Ahead(office.database)(here, pairs, TODAY)))
    assert [(x.question, x.recipe) for x in apart] == [
        (x.question, x.recipe) for x in (judged(one, TODAY, here) for one in pairs)
    ]


def test_a_process_apart_that_finds_no_release_ends_without_a_word(new: Serving) -> None:
    office = office_for(small_release(), DIRECTORY)
    assert asyncio.run(all_of(Ahead(office.database)(new, [pair(MOST)], TODAY))) == []


def test_a_process_apart_is_ended_when_nobody_wants_its_pairs_any_more() -> None:
    office = office_for(small_release(), DIRECTORY)

    async def first() -> Judged:
        async with aclosing(
            Ahead(office.database)(Serving.of(small_release()), [pair(MOST)] * 100_000, TODAY)
        ) as judging:
            return await anext(judging)

    before = set(active_children())
    assert asyncio.run(first()).question == MOST
    assert set(active_children()) <= before


def test_a_process_apart_that_is_not_wanted_any_more_before_it_has_begun_is_ended() -> None:
    office = office_for(small_release(), DIRECTORY)

    async def given_up() -> None:
        judging = all_of(Ahead(office.database)(Serving.of(small_release()), [pair(MOST)] * 100_000, TODAY))
        with suppress(TimeoutError):
            await asyncio.wait_for(judging, 0.05)

    before = set(active_children())
    asyncio.run(given_up())
    assert set(active_children()) <= before


def test_a_process_apart_that_cannot_be_started_works_nothing_out(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_: object) -> None:
        raise OSError("no memory")

    monkeypatch.setattr("multiprocessing.process.BaseProcess.start", fails)
    office = office_for(small_release(), DIRECTORY)
    judging = Ahead(office.database)(Serving.of(small_release()), [pair(MOST)], TODAY)
    assert asyncio.run(all_of(judging)) == []
