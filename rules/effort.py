"""How much searching questions have cost, in counted work: never in seconds, so that it is the same on any machine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Literal

Work = Literal["builds", "schedules", "solver"]
"""Builds that were examined, schedules that the money model was asked for, and units that the solver counted for these."""


class Effort:
    """Counts by the kind of question: how many were asked, and what they cost. One question is counted at a time."""

    def __init__(self) -> None:
        self.asked: Counter[str] = Counter()
        self.spent: dict[tuple[str, Work], float] = {}
        self._question: str | None = None

    @contextmanager
    def on(self, question: str) -> Iterator[None]:
        """Count for a question of this kind; what it asks in turn is counted for it."""
        if self._question is not None:
            yield
            return
        self._question = question
        self.asked[question] += 1
        try:
            yield
        finally:
            self._question = None

    def count(self, work: Work, amount: float = 1) -> None:
        """Count work for the question that is being answered."""
        if self._question is not None:
            key = (self._question, work)
            self.spent[key] = self.spent.get(key, 0) + amount
