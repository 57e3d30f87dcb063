"""What was asked most under the release before is worked out under the next one, while nobody waits for anything."""

from __future__ import annotations

import gc
import threading
import time
from collections.abc import Callable
from contextlib import suppress
from datetime import date

from rules.errors import LoomwayError
from rules.question import FitQuestion
from service.serving import Serving
from service.storefront.answers import fit_recipe
from service.storefront.table import Asked

MOST = 2_000
"""Pairs that are worked out after a release."""

PAUSE_S = 0.05
"""Between two looks whether anybody waits [s]."""

REST = 2.0
"""Times as long as a pair took, the next one waits: known answers come from the same interpreter."""


class Warmer:
    """Works pairs out one by one, from the one asked most. Each is worked out as for whoever asks first, and kept alike.

    Args:
        today: The day at the shop.
        is_busy: Whether anybody waits for something to be worked out.
    """

    def __init__(self, today: Callable[[], date], is_busy: Callable[[], bool]) -> None:
        self._today = today
        self._is_busy = is_busy
        self._thread: threading.Thread | None = None
        self._stopped = threading.Event()

    def after(self, old: Serving, new: Serving) -> None:
        """Begin, and leave off from what was begun after the release before."""
        if new.table is old.table:
            return
        self._stopped.set()
        self._stopped = stopped = threading.Event()
        most = old.table.asked.copy().most_common(MOST)
        # What was asked under the release before counts on, but less and less.
        new.table.asked.update({pair: (count + 1) // 2 for pair, count in most})
        self._thread = threading.Thread(
            target=self._warm, args=([pair for pair, _ in most], new, stopped), name="warmer", daemon=True
        )
        self._thread.start()

    def start(self) -> None:
        """There is nothing to do before a release."""

    def stop(self) -> None:
        """Leave off."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()

    def _warm(self, most: list[Asked], serving: Serving, stopped: threading.Event) -> None:
        for bike, part, place, fitter in most:
            if not self._is_idle(stopped):
                return
            begun = time.perf_counter()
            # The pair may be gone with the release.
            with suppress(LoomwayError):
                question = FitQuestion(bike=bike, part=part, place=place, fitter=fitter, on=self._today())
                fit_recipe(question, serving)
            stopped.wait(REST * (time.perf_counter() - begun))
        if self._is_idle(stopped):
            # A release that nobody holds any more goes in cycles, and stays until about as much again has come.
            gc.collect()

    def _is_idle(self, stopped: threading.Event) -> bool:
        """Wait until nobody waits for anything; False once this is to stop."""
        while self._is_busy() and not stopped.is_set():
            stopped.wait(PAUSE_S)
        return not stopped.is_set()
