"""Which answers of an older release may be stale, worked out once for two releases and the periods of two days."""

from __future__ import annotations

from collections import OrderedDict
from datetime import date
from threading import Lock

from rules.impact.stale import Stale, Staleness
from rules.tables import Tables
from service.serving import Serving

KEPT = 16
"""Comparisons that are remembered."""

Key = tuple[str, str, int, int, int]


class StaleAnswers:
    """Compares releases, one comparison at a time, and remembers a few."""

    def __init__(self) -> None:
        self._known: OrderedDict[Key, tuple[Stale, ...]] = OrderedDict()
        self._lock = Lock()

    def between(self, old: Serving, new: Serving, before: date, on: date) -> tuple[Stale, ...]:
        """Give what may be stale, bike by bike, of what an older release answered for one day, where another is wanted.

        On a large catalog this takes seconds the first time.
        """
        days = old.table.periods
        key = (old.name, new.name, days.number(before), days.number(on), new.table.periods.number(on))
        with self._lock:
            if key not in self._known:
                self._known[key] = _compare(old, new, before, on)
                if len(self._known) > KEPT:
                    self._known.popitem(last=False)
            self._known.move_to_end(key)
            return self._known[key]


def _compare(old: Serving, new: Serving, before: date, on: date) -> tuple[Stale, ...]:
    # The engines' own tables learn while they answer, one question at a time: these are made apart, and let go.
    tables = Tables(old.catalog)
    newer = tables if old.name == new.name else Tables(new.catalog)
    return tuple(Staleness(tables, newer, before, on).bikes())
