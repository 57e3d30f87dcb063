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
from rules.question import FitQuestion, Fitter
from rules.verdict import Verdict

RECIPES_KEPT = 200_000
"""Pairs of one release; beyond, the bikes asked about first are worked out anew. Each pair takes about a kilobyte."""

DIGESTS_KEPT = 4
"""Days of one pair whose digest is remembered."""

DAYS_KEPT = 10_000
"""Days whose period is remembered: questions may name any."""

ASKED_KEPT = 20_000
"""Pairs whose number of questions is known; beyond, the half that is asked least is forgotten."""

Asked = tuple[str, str, str | None, Fitter]
"""A bike, a part, a place or anywhere, and a fitter."""

Key = tuple[str, str | None, str, int]
"""A bike, a place or anywhere, a fitter, and a period."""


class Recipe(NamedTuple):
    """How to put one answer together.

    Attributes:
        verdict: The answer in a word.
        path: Bike and part as steps of an address.
        before: JSON of what stands before the day, field by field.
        after: JSON of what stands after it.
        row: JSON of the answer in a list.
        rules: What the findings of the answer name.
        digests: Of whole answers by day: the rest of an answer follows from the release and the question.
    """

    verdict: Verdict
    path: bytes
    before: tuple[bytes, ...]
    after: bytes
    row: bytes
    rules: tuple[str, ...]
    digests: dict[date, str]


class Row:
    """What is known of one bike, for one place or anywhere, one fitter and one period: recipes by part."""

    __slots__ = ("_fitting", "recipes")

    def __init__(self) -> None:
        self.recipes: dict[str, Recipe] = {}
        self._fitting: tuple[str, ...] | None = None

    @property
    def fitting(self) -> tuple[str, ...]:
        """The parts that are known to fit, alone or with more, in order of id."""
        if self._fitting is None:
            self._fitting = tuple(
                sorted(x for x, recipe in list(self.recipes.items()) if recipe.verdict in _YES)
            )
        return self._fitting

    def keep(self, part: str, recipe: Recipe) -> None:
        """Keep a recipe."""
        self.recipes[part] = recipe
        self._fitting = None


_YES = (Verdict.FITS, Verdict.FITS_WITH)


class Table:
    """The recipes of one release by bike, filled as questions come, in memory that is bounded."""

    def __init__(self, catalog: Catalog, kept: int = RECIPES_KEPT) -> None:
        self.periods = Periods(catalog)
        self._kept = kept
        self._count = 0
        self._rows: dict[Key, Row] = {}
        self._pieces: dict[bytes, bytes] = {}
        self._days: dict[date, int] = {}
        self._lock = Lock()
        self.hits: Counter[tuple[str, ...]] = Counter()
        self.asked: Counter[Asked] = Counter()
        self.judged = 0
        self.judging_s = 0.0

    def __len__(self) -> int:
        """Count the recipes."""
        return self._count

    def find(self, bike: str, part: str, place: str | None, fitter: str, on: date) -> Recipe | None:
        """Give the recipe of a question about a bike as it left the works; None if it is not worked out yet."""
        row = self._rows.get((bike, place, fitter, self._period(on)))
        return None if row is None else row.recipes.get(part)

    def row(self, bike: str, place: str | None, fitter: str, on: date) -> Row | None:
        """Give all that is known of a bike."""
        return self._rows.get((bike, place, fitter, self._period(on)))

    def count(self, question: FitQuestion, recipe: Recipe) -> None:
        """Count one answer: by the rules that it names, and by what was asked."""
        self.hits[recipe.rules] += 1
        self.asked[question.bike, question.part, question.place, question.fitter] += 1
        if len(self.asked) > ASKED_KEPT:
            self.asked = Counter(dict(self.asked.most_common(ASKED_KEPT // 2)))

    def rule_hits(self) -> Counter[str]:
        """Count in how many answers each rule was named."""
        found: Counter[str] = Counter()
        for rules, count in list(self.hits.items()):
            for rule in set(rules):
                found[rule] += count
        return found

    def keep(self, question: FitQuestion, recipe: Recipe, took_s: float) -> Recipe:
        """Keep a recipe that the engine took so long for, its pieces shared with the others."""
        key = (question.bike, question.place, question.fitter, self._period(question.on))
        with self._lock:
            self.judged += 1
            self.judging_s += took_s
            self._make_room(key)
            shared = recipe._replace(
                before=tuple(self._pieces.setdefault(x, x) for x in recipe.before),
                after=self._pieces.setdefault(recipe.after, recipe.after),
            )
            row = self._rows.setdefault(key, Row())
            self._count += question.part not in row.recipes
            row.keep(question.part, shared)
        return shared

    def _make_room(self, wanted: Key) -> None:
        """Forget the bikes that were asked about first, and the rest of one that fills the table alone."""
        while self._count >= self._kept:
            oldest = next((key for key in self._rows if key != wanted), wanted)
            self._count -= len(self._rows.pop(oldest).recipes)
        if len(self._pieces) > 2 * self._kept:
            # Recipes hold their own pieces; only sharing begins anew.
            self._pieces.clear()

    def _period(self, on: date) -> int:
        number = self._days.get(on)
        if number is None:
            if len(self._days) > DAYS_KEPT:
                self._days.clear()
            number = self._days[on] = self.periods.number(on)
        return number
