"""The mutation score of a catalog's cases: of the mistakes that alter some answer, how many the cases notice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from random import Random

from rules.strength.judge import Fate, Judge, Judged
from rules.strength.mutants import Mutant, Site, all_sites, make
from rules.strength.workshop import Workshop

DRAWS_FOR_EACH = 6
"""Draws for each mistake that is to count, after which the count stays short of what was asked for."""


class Draw:
    """Draws mistakes by number: the same seed and number always give the same one."""

    def __init__(self, workshop: Workshop, seed: int) -> None:
        self.workshop = workshop
        self.seed = seed
        self.sites: dict[str, list[Site]] = all_sites(workshop.documents)

    def mutant(self, number: int) -> Mutant | None:
        """Give one mistake; None if nothing came of this draw."""
        # Not for secrets: only to spread mistakes, and the same ones again for the same seed.
        random = Random(f"{self.seed} {number}")  # noqa: S311
        return make(self.workshop.documents, self.sites, random)


@dataclass(frozen=True, slots=True, kw_only=True)
class Strength:
    """How many mistakes the cases notice. `counted` are those that alter some answer; `fates` counts all that were drawn."""

    counted: tuple[Judged, ...]
    fates: dict[Fate, int]

    @property
    def score(self) -> float:
        """Give the share that is noticed, 0 to 1; 0 where nothing counted."""
        noticed = sum(x.fate == "noticed" for x in self.counted)
        return noticed / len(self.counted) if self.counted else 0.0

    @property
    def survivors(self) -> tuple[Judged, ...]:
        """Give the mistakes that no case notices."""
        return tuple(x for x in self.counted if x.fate == "survived")


def tally(judged: Iterable[Judged], wanted: int) -> Strength:
    """Count mistakes in the order of their draws, each once, until enough of them count."""
    counted: list[Judged] = []
    fates: Counter[Fate] = Counter()
    for one in _different(judged):
        fates[one.fate] += 1
        if one.fate in ("noticed", "survived"):
            counted.append(one)
        if len(counted) == wanted:
            break
    return Strength(counted=tuple(counted), fates=dict(sorted(fates.items())))


def _different(judged: Iterable[Judged]) -> Iterator[Judged]:
    seen: set[tuple[str, str]] = set()
    for one in judged:
        if one.slip.key not in seen:
            seen.add(one.slip.key)
            yield one


def judged_in_order(judge: Judge, draw: Draw, wanted: int) -> Iterator[Judged]:
    """Judge one draw after the other."""
    for number in range(wanted * DRAWS_FOR_EACH):
        mutant = draw.mutant(number)
        if mutant is not None:
            yield judge.judge(mutant)
