"""What was asked most under one release is worked out under the next: before that is served, and after.

A pair takes milliseconds, and some take a search. Whoever asked first after a release would wait for that, and so would
everybody whose answers come from the same interpreter.
"""

from __future__ import annotations

import asyncio
import threading
import time
from collections.abc import AsyncGenerator, Callable, Sequence
from contextlib import aclosing
from datetime import date
from typing import NamedTuple

from rules.errors import LoomwayError
from rules.question import FitQuestion
from service.serving import Serving
from service.storefront.answers import recipe_of
from service.storefront.table import Asked, Recipe

MOST = 20_000
"""Pairs that are worked out for a release."""

COVERED = 0.999
"""Share of the questions under the release before whose pairs are to be known when the next one is served: whoever asks for another
holds up some that are asked for at the same time."""


class Judged(NamedTuple):
    """A pair that was worked out, and the time that it took [s]; no recipe where the release does not have it any more."""

    question: FitQuestion
    recipe: Recipe | None
    took_s: float


Judge = Callable[[Serving, Sequence[Asked], date], AsyncGenerator[Judged, None]]
"""Works pairs of a release out for a day in their order; does what it has begun to an end when nobody wants them any more."""


async def judge_here(serving: Serving, pairs: Sequence[Asked], on: date) -> AsyncGenerator[Judged, None]:
    """Work pairs out in this process."""
    for pair in pairs:
        yield judged(pair, on, serving)


def judged(pair: Asked, on: date, serving: Serving) -> Judged:
    """Work one pair out."""
    bike, part, place, fitter = pair
    question = FitQuestion(bike=bike, part=part, place=place, fitter=fitter, on=on)
    begun = time.perf_counter()
    try:
        recipe = recipe_of(serving.engine.fit(question), question, serving)
    except LoomwayError:
        recipe = None
    return Judged(question, recipe, time.perf_counter() - begun)


class Warmer:
    """Takes in the pairs that were asked most, from the one asked most; each is kept as for whoever asks first.

    The loop that answers takes them in, one at a turn: another thread would wait for the interpreter again and again, and answers
    would wait for that thread.

    Args:
        today: The day at the shop.
        judge: Works the pairs out.
        done: Called when the release before may be gone.
    """

    def __init__(
        self, today: Callable[[], date], judge: Judge = judge_here, done: Callable[[], None] = lambda: None
    ) -> None:
        self._today = today
        self._judge = judge
        self._done = done
        self._loop: asyncio.AbstractEventLoop | None = None
        self._tasks: set[asyncio.Task[None]] = set()

    def start(self, loop: asyncio.AbstractEventLoop) -> None:
        """Work in a loop from now on."""
        self._loop = loop

    @property
    def is_working(self) -> bool:
        """Tell whether pairs are taken in."""
        return bool(self._tasks)

    def begin(self, old: Serving, new: Serving) -> threading.Event:
        """Begin, from another thread than the loop's, and leave off from what was begun for the release before.

        Returns: What is set when what was asked most is known, so that nothing speaks against serving the new release.
        """
        ready = threading.Event()
        loop = self._loop
        if loop is None:  # nobody is answered yet, or any more
            ready.set()
            return ready
        loop.call_soon_threadsafe(self._leave_off)
        loop.call_soon_threadsafe(self._go_on, _Work.of(old, new, self._today()), ready)
        return ready

    def _go_on(self, work: _Work, ready: threading.Event) -> None:
        self._leave_off()
        task = asyncio.get_running_loop().create_task(self._run(work, ready))
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)
        # However it ends, and if it never began.
        task.add_done_callback(lambda _: ready.set())

    def _leave_off(self) -> None:
        for task in self._tasks:
            task.cancel()

    async def _run(self, work: _Work, ready: threading.Event) -> None:
        try:
            await work.take_in(self._judge, ready)
        finally:
            # Also where it is left off because releases follow one another closely.
            self._done()

    async def stop(self) -> None:
        """Leave off."""
        self._loop = None
        self._leave_off()
        await asyncio.gather(*self._tasks, return_exceptions=True)


class _Work(NamedTuple):
    """The pairs of one release that are not known, each with how often it was asked.

    Attributes:
        wanting: Questions whose pairs are still to be known before the release is served.
    """

    serving: Serving
    pairs: Sequence[Asked]
    counts: Sequence[int]
    on: date
    wanting: float

    @classmethod
    def of(cls, old: Serving, new: Serving, on: date) -> _Work:
        """Choose the pairs.

        Thousands are looked at while others are answered, so nothing is made of those that somebody else works out.
        """
        asked = old.table.asked()
        most = asked.most_common(MOST)
        # What was asked under the release before counts on, but less and less.
        new.table.expect({pair: (count + 1) // 2 for pair, count in most})
        unknown = [(pair, count) for pair, count in most if new.table.find(*pair, on) is None]
        known = sum(count for _, count in most) - sum(count for _, count in unknown)
        return cls(
            serving=new,
            pairs=[pair for pair, _ in unknown],
            counts=[count for _, count in unknown],
            on=on,
            wanting=COVERED * asked.total() - known,
        )

    async def take_in(self, judge: Judge, ready: threading.Event) -> None:
        """Keep what is worked out, and tell when most of what is asked is known."""
        wanting = self.wanting
        counts = iter(self.counts)
        if wanting <= 0:
            ready.set()
        async with aclosing(judge(self.serving, self.pairs, self.on)) as found:
            async for one in found:
                if one.recipe is not None:
                    self.serving.table.keep(one.question, one.recipe, one.took_s)
                wanting -= next(counts)
                if wanting <= 0:
                    ready.set()
                # Whoever has asked meanwhile comes first, though there may be more to take in.
                await asyncio.sleep(0)
