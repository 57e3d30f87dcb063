"""What was worked out about bikes as they left the works, as pieces of the answers: judged once, put together each time.

A pair of bike and part has one recipe for a fitter and a period of days. It holds no whole answer: the release, the pinned
address and the day are put in each time, and pieces that many answers have in common are held once.
"""

from __future__ import annotations

from collections import Counter
from datetime import date
from threading import Lock
from typing import NamedTuple

from rules.catalog.catalog import Catalog
from rules.periods import Periods
from rules.question import FitQuestion
from rules.verdict import Verdict

RECIPES_KEPT = 200_000
"""Pairs of one release; beyond, the oldest are worked out anew. Each takes about a kilobyte."""

DAYS_KEPT = 10_000
"""Days whose period is remembered: questions may name any."""

Key = tuple[str, str, str | None, str, int]


class Recipe(NamedTuple):
    """How to put one answer together.

    Attributes:
        verdict: The answer in a word.
        path: Bike and part as steps of an address.
        before: JSON of what stands before the day, field by field.
        after: JSON of what stands after it.
        row: JSON of the answer in a list.
        rules: What the findings of the answer name.
    """

    verdict: Verdict
    path: bytes
    before: tuple[bytes, ...]
    after: bytes
    row: bytes
    rules: tuple[str, ...]


class Table:
    """The recipes of one release, filled as questions come, in memory that is bounded."""

    def __init__(self, catalog: Catalog, kept: int = RECIPES_KEPT) -> None:
        self.periods = Periods(catalog)
        self._kept = kept
        self._recipes: dict[Key, Recipe] = {}
        self._pieces: dict[bytes, bytes] = {}
        self._days: dict[date, int] = {}
        self._lock = Lock()
        self.hits: Counter[tuple[str, ...]] = Counter()
        self.judged = 0
        self.judging_s = 0.0

    def __len__(self) -> int:
        """Count the recipes."""
        return len(self._recipes)

    def find(self, bike: str, part: str, place: str | None, fitter: str, on: date) -> Recipe | None:
        """Give the recipe of a question about a bike as it left the works; None if it is not worked out yet."""
        return self._recipes.get((bike, part, place, fitter, self._period(on)))

    def rule_hits(self) -> Counter[str]:
        """Count in how many answers each rule was named."""
        found: Counter[str] = Counter()
        for rules, count in list(self.hits.items()):
            for rule in set(rules):
                found[rule] += count
        return found

    def keep(self, question: FitQuestion, recipe: Recipe, took_s: float) -> Recipe:
        """Keep a recipe that the engine took so long for, its pieces shared with the others."""
        with self._lock:
            self.judged += 1
            self.judging_s += took_s
            if len(self._recipes) >= self._kept:
                del self._recipes[next(iter(self._recipes))]
            if len(self._pieces) > 2 * self._kept:
                # Recipes hold their own pieces; only sharing begins anew.
                self._pieces.clear()
            shared = recipe._replace(
                before=tuple(self._pieces.setdefault(x, x) for x in recipe.before),
                after=self._pieces.setdefault(recipe.after, recipe.after),
            )
            key = (question.bike, question.part, question.place, question.fitter, self._period(question.on))
            self._recipes[key] = shared
        return shared

    def _period(self, on: date) -> int:
        number = self._days.get(on)
        if number is None:
            if len(self._days) > DAYS_KEPT:
                self._days.clear()
            number = self._days[on] = self.periods.number(on)
        return number
