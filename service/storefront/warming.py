"""What was asked most under one release is worked out under the next: before that is served, and after.

A pair takes milliseconds, and some take a search. Whoever asked first after a release would wait for that, and so would
everybody whose answers come from the same interpreter.
"""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from math import inf
from typing import NamedTuple

from rules.errors import LoomwayError
from rules.question import FitQuestion, Fitter
from service.serving import Serving
from service.storefront.answers import recipe_of
from service.storefront.table import Asked, Recipe

MOST = 20_000
"""Pairs that are worked out for a release."""

COVERED = 0.999
"""Share of the questions under the release before whose pairs are to be known when the next one is served: whoever asks for another
holds up some that are asked for at the same time."""

QUIET_S = 0.25
"""How long nobody asks in a quiet moment [s]."""

SETTLES_S = 120.0
"""How long after a release a quiet moment is waited for [s]."""


class Judged(NamedTuple):
    """A pair that was worked out, and the time that it took [s]; no recipe where the release does not have it any more."""

    question: FitQuestion
    recipe: Recipe | None
    took_s: float


Judge = Callable[[Serving, Sequence[Asked], date, threading.Event], Iterator[Judged]]
"""Works pairs of a release out for a day in their order, until told to stop."""


def judge_here(
    serving: Serving, pairs: Sequence[Asked], on: date, stopped: threading.Event
) -> Iterator[Judged]:
    """Work pairs out in this process."""
    for pair in pairs:
        if stopped.is_set():
            return
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

    Args:
        today: The day at the shop.
        judge: Works the pairs out.
        answered: Counts the answers so far.
    """

    def __init__(
        self, today: Callable[[], date], judge: Judge = judge_here, answered: Callable[[], int] = lambda: 0
    ) -> None:
        self._today = today
        self._judge = judge
        self._answered = answered
        self._settles_by = inf
        self._thread: threading.Thread | None = None
        self._stopped = threading.Event()

    def begin(self, old: Serving, new: Serving) -> threading.Event:
        """Begin, and leave off from what was begun for the release before.

        Returns: What is set when what was asked most is known, so that nothing speaks against serving the new release.
        """
        self._stopped.set()
        self._stopped, ready = threading.Event(), threading.Event()
        asked = old.table.asked()
        most = asked.most_common(MOST)
        # What was asked under the release before counts on, but less and less.
        new.table.expect({pair: (count + 1) // 2 for pair, count in most})
        work = _Work(new, most, self._today(), asked.total())
        self._settles_by = min(self._settles_by, time.monotonic() + SETTLES_S)
        self._thread = threading.Thread(
            target=self._run, args=(work, ready, self._stopped), name="warmer", daemon=True
        )
        self._thread.start()
        return ready

    def _run(self, work: _Work, ready: threading.Event, stopped: threading.Event) -> None:
        work.take_in(self._judge, ready, stopped)
        if self._may_settle(stopped):
            settle()
            self._settles_by = inf

    def _may_settle(self, stopped: threading.Event) -> bool:
        """Wait for a moment in which nobody asks; False if this is to stop before, unless that was waited for long enough.

        Where releases follow one another closely, nobody comes to such a moment, and what is gone must be let go all the same.
        """
        before = -1
        while time.monotonic() <= self._settles_by:
            now = self._answered()
            if stopped.is_set():
                return False
            if now == before:
                return True
            before = now
            stopped.wait(QUIET_S)
        return True

    def start(self) -> None:
        """There is nothing to do before a release."""

    def stop(self) -> None:
        """Leave off."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()


class _Work(NamedTuple):
    """The pairs of one release, each with how often it was asked, and how many questions there were in all."""

    serving: Serving
    most: Sequence[tuple[Asked, int]]
    on: date
    asked: int

    def take_in(self, judge: Judge, ready: threading.Event, stopped: threading.Event) -> None:
        """Keep what is worked out, and tell when most of what is asked is known.

        Thousands of pairs are looked at while others are answered, so nothing is made of those that somebody else works out.
        """
        unknown = [(pair, count) for pair, count in self.most if not self._knows(*pair)]
        known = sum(count for _, count in self.most) - sum(count for _, count in unknown)
        wanting = COVERED * self.asked - known
        if wanting <= 0:
            ready.set()
        judged_ones = judge(self.serving, [pair for pair, _ in unknown], self.on, stopped)
        for found, (_, count) in zip(judged_ones, unknown, strict=False):
            if found.recipe is not None:
                self.serving.table.keep(found.question, found.recipe, found.took_s)
            wanting -= count
            if wanting <= 0:
                ready.set()
        ready.set()

    def _knows(self, bike: str, part: str, place: str | None, fitter: Fitter) -> bool:
        return self.serving.table.find(bike, part, place, fitter, self.on) is not None


@contextmanager
def set_aside() -> Iterator[None]:
    """Make what stays for long, without going through it while it grows."""
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        gc.enable()


def settle() -> None:
    """Let go of what nobody holds any more, and leave the rest alone from now on.

    A release that is gone goes in cycles, which are looked for once, here. One that stays is some million objects: going through
    them again, each time that as much as a quarter has come besides, would hold up every answer for a good part of a second.
    """
    gc.unfreeze()
    gc.collect()
    gc.freeze()
