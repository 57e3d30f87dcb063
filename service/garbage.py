"""Garbage that goes in cycles: looked for when nobody asks, and in between only among what has come lately.

Python goes through all objects as often as a quarter has come besides. A release with what was learned of it is some million of
them, so each search would hold up every answer for up to seconds.
"""

from __future__ import annotations

import asyncio
import gc
import time
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from math import inf

QUIET_S = 0.25
"""How long nobody asks in a quiet moment [s]."""

SETTLES_S = 120.0
"""How long a quiet moment is waited for [s]."""

LONG_S = 0.02
"""A search that takes longer is felt by those who ask meanwhile [s]."""

SHARE = 0.25
"""What was set aside since everything was gone through, as a share of that, before it is again: as Python has it."""

_EVERYTHING = 2
"""The generation of a search that goes through everything but what is set aside."""


_settling: list[bool] = []
"""Not empty while everything is gone through: that is no search of Python's own."""


class Garbage:
    """Has garbage looked for while a loop answers.

    Args:
        answered: Counts the answers so far.
        is_growing: Something big is taken in, after which something else may be let go of: until then only a quiet moment will do.
    """

    def __init__(self, answered: Callable[[], int], is_growing: Callable[[], bool] = lambda: False) -> None:
        self._answered = answered
        self._is_growing = is_growing
        self._settles_by = inf
        self._begun = inf
        self._settling_s = self._set_aside_s = 0.0
        self._task: asyncio.Task[None] | None = None

    def start(self) -> None:
        """Begin, in the loop that answers."""
        gc.callbacks.append(self._see)
        self._task = asyncio.get_running_loop().create_task(self._settle_when_quiet())

    async def stop(self) -> None:
        """Leave off."""
        gc.callbacks.remove(self._see)
        if self._task is not None:
            self._task.cancel()
            with suppress(asyncio.CancelledError):
                await self._task

    def expect(self) -> None:
        """Something big may have been let go of: look for it when nobody asks, or when that was waited for long enough."""
        self._settles_by = min(self._settles_by, time.monotonic() + SETTLES_S)

    async def _settle_when_quiet(self) -> None:
        before = -1
        while True:
            await asyncio.sleep(QUIET_S)
            now = self._answered()
            if self._is_growing():
                self._settles_by = max(self._settles_by, time.monotonic() + SETTLES_S)
            if self._settles_by < inf and (now == before or time.monotonic() > self._settles_by):
                self._settle()
            before = now

    def _settle(self) -> None:
        begun = time.perf_counter()
        settle()
        self._settling_s, self._set_aside_s = time.perf_counter() - begun, 0.0
        self._settles_by = inf

    def _see(self, phase: str, search: Mapping[str, int]) -> None:
        """Set aside what a long search of Python's own went through, so that the next is short."""
        if search["generation"] < _EVERYTHING or _settling:
            return
        if phase == "start":
            self._begun = time.perf_counter()
            return
        took_s = time.perf_counter() - self._begun
        if took_s > LONG_S:
            gc.freeze()
            self._set_aside_s += took_s
            if self._set_aside_s > SHARE * self._settling_s:
                self.expect()


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

    A release that is gone goes in cycles, which are looked for once, here.
    """
    _settling.append(True)
    try:
        gc.unfreeze()
        gc.collect()
        gc.freeze()
    finally:
        _settling.pop()
