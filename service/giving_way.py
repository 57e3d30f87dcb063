"""Long work in the interpreter that answers: a little at a time, so that no answer waits for more than a little."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from types import FrameType

WORKS_S = 0.0001
"""How long it works at a time [s]. Else it would work for a whole turn of threads at each read and write of an answer."""

RESTS_S = 0.001
"""How long it rests in between [s]: meanwhile answers are given that do not wait for it. With half of that, more of them waited."""


@contextmanager
def giving_way(is_hasty: Callable[[], bool] = lambda: False) -> Iterator[None]:
    """Let this thread rest again and again, whatever it calls: between two steps of Python, of which each is short.

    Args:
        is_hasty: The work is wanted at once, whoever waits for it.
    """
    goes_on_until = time.perf_counter() + WORKS_S

    def rest(_: FrameType, __: str, ___: object) -> None:
        nonlocal goes_on_until
        if time.perf_counter() >= goes_on_until and not is_hasty():
            time.sleep(RESTS_S)
            goes_on_until = time.perf_counter() + WORKS_S

    # Made to measure calls, it is called at each call and return of this thread, and of no other.
    before = sys.getprofile()
    sys.setprofile(rest)
    try:
        yield
    finally:
        sys.setprofile(before)
