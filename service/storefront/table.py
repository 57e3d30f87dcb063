"""What was worked out about bikes as they left the works, as pieces of the answers: judged once, put together each time.

A pair of bike and part has one recipe for a fitter and a period of days. It holds no whole answer: the release, the pinned
address and the day are put in each time, and pieces that many answers have in common are held once.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from threading import Lock
from typing import cast

from rules.catalog.catalog import Catalog
from rules.periods import Periods
from rules.question import FitQuestion, Fitter
from rules.verdict import Verdict

RECIPES_KEPT = 200_000
"""Pairs of one release; beyond, the bikes asked about first are worked out anew. Each pair takes about a kilobyte."""

DAYS_KEPT = 10_000
"""Days whose period is remembered: questions may name any."""

SHORT = 64
"""Pieces up to this length are put together with their neighbours: looking each up costs more than sharing it saves [bytes]."""

Asked = tuple[str, str, str | None, Fitter]
"""A bike, a part, a place or anywhere, and a fitter."""

Key = tuple[str, str | None, str, int]
"""A bike, a place or anywhere, a fitter, and a period."""


@dataclass(slots=True)
class Tally:
    """How many answers named the same rules."""

    count: int = 0


@dataclass(slots=True, kw_only=True)
class Recipe:
    """How to put one answer together.

    Attributes:
        verdict: The answer in a word.
        path: Bike and part as steps of an address.
        before: JSON of what stands before the day, piece by piece.
        after: JSON of what stands after it.
        row: JSON of the answer in a list.
        rules: What the findings of the answer name.
        tally: Counts the answers that name these.
        asked: Questions answered under this release; `earlier` such under those before, which count less and less.
        tagged: The last day that was asked about, and the tag of the whole answer.
    """

    verdict: Verdict
    path: bytes
    before: tuple[bytes, ...]
    after: bytes
    row: bytes
    rules: tuple[str, ...]
    tally: Tally = field(default_factory=Tally, compare=False)
    asked: int = field(default=0, compare=False)
    earlier: int = field(default=0, compare=False)
    tagged: tuple[date | None, bytes] = field(default=(None, b""), compare=False)


def joined(pieces: Iterable[bytes]) -> tuple[bytes, ...]:
    """Put short neighbours together."""
    found: list[bytes] = []
    are_short = False
    for piece in pieces:
        is_short = len(piece) <= SHORT
        if is_short and are_short:
            found[-1] += piece
        else:
            found.append(piece)
        are_short = is_short
    return tuple(found)


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
        self._tallies: dict[tuple[str, ...], Tally] = {}
        self._earlier: dict[Asked, int] = {}
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

    def asked(self) -> Counter[Asked]:
        """Count how often each pair was asked, here and under releases before."""
        found = Counter(self._earlier)
        for (bike, place, fitter, _), row in list(self._rows.items()):
            for part, recipe in list(row.recipes.items()):
                found[bike, part, place, cast("Fitter", fitter)] += recipe.asked + recipe.earlier
        return found

    def expect(self, asked: Mapping[Asked, int]) -> None:
        """Let pairs count that were asked under a release before, once they are kept."""
        self._earlier = dict(asked)

    def rule_hits(self) -> Counter[str]:
        """Count in how many answers each rule was named."""
        found: Counter[str] = Counter()
        for rules, tally in list(self._tallies.items()):
            for rule in set(rules):
                found[rule] += tally.count
        return found

    def tallied(self, recipe: Recipe) -> Recipe:
        """Let answers of a recipe be counted together with others that name the same rules."""
        recipe.tally = self._tallies.setdefault(recipe.rules, recipe.tally)
        return recipe

    def keep(self, question: FitQuestion, recipe: Recipe, took_s: float) -> Recipe:
        """Keep a recipe that the engine took so long for, its pieces shared with the others."""
        key = (question.bike, question.place, question.fitter, self._period(question.on))
        with self._lock:
            self.judged += 1
            self.judging_s += took_s
            self._make_room(key)
            pair = (question.bike, question.part, question.place, question.fitter)
            recipe.before = tuple(self._pieces.setdefault(x, x) for x in recipe.before)
            recipe.after = self._pieces.setdefault(recipe.after, recipe.after)
            recipe.earlier = self._earlier.pop(pair, 0)
            row = self._rows.setdefault(key, Row())
            self._count += question.part not in row.recipes
            row.keep(question.part, self.tallied(recipe))
        return recipe

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
