"""Small random catalogs with questions, bikes on the bench and builds: the same number, the same draw."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from itertools import count
from random import Random

from hypothesis import strategies as st

from rules.bench import Bench
from rules.build import Build, Placement
from rules.tables import Tables
from tests.oracle import generate
from tests.oracle.generate import PathInstance, VerdictInstance, path_instance

seeds = st.integers(0, 10_000)

path_seeds = st.integers(0, 24)
"""Few: drawing a path question that has a path takes the reference solver a while."""


@cache
def fit_instance(seed: int) -> VerdictInstance:
    """Draw a fit question with no aim at an answer: aims cost a run of the reference solver each."""
    tries = (generate._draw_verdict(Random(f"law {seed} {attempt}")) for attempt in count())
    return next(found for found in tries if found is not None)


@cache
def path_at(seed: int) -> PathInstance:
    """Draw a path question."""
    return path_instance(seed)


def bench_of(instance: VerdictInstance | PathInstance) -> Bench:
    """Put the bike of a question on the bench; at a split, its first side."""
    catalog, question = instance.catalog, instance.question
    bike = question.bike if question.bike in catalog.bikes else min(catalog.bikes)
    return Bench(Tables(catalog), catalog.bikes[bike], question.found)


def builds(bench: Bench, rng: Random, how_many: int) -> Iterator[Build]:
    """Draw builds: the present one with a few parts come and gone, whether that makes sense or not."""
    universe = sorted(bench.universe)
    for _ in range(how_many):
        gone = {x for x in sorted(bench.present) if rng.random() < 0.15}
        come = some(rng, universe)
        yield (bench.present - gone) | come


def some(rng: Random, placements: list[Placement]) -> Build:
    """Draw some of these placements: few, several or most."""
    share = rng.choice([0.05, 0.2, 0.5, 0.9])
    return frozenset(x for x in placements if rng.random() < share)
