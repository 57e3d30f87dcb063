"""What a search learns is true: no build with all of a law's parts and none of its repairs is valid."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings

from rules.desk import Desk
from rules.examine import Examiner
from rules.fitment import fit_anywhere
from rules.laws import Law
from rules.path import plan_path
from tests.property.strategies import bench_of, builds, fit_instance, path_at, path_seeds, seeds, some

LAWS = 12
"""Laws tried for each bike."""


def tried(desk: Desk, laws: list[Law], rng: Random):
    """Give builds that break a law, judged afresh."""
    examiner = Examiner(desk.bench)
    universe = sorted(desk.bench.universe)
    for law in rng.sample(laws, min(LAWS, len(laws))):
        # Of each group one is there; where it is, none of the others can come in.
        spoken_of = frozenset().union(law.repairs, *law.groups)
        allowed = [x for x in universe if x not in spoken_of]
        for around in (frozenset(), frozenset(allowed), desk.bench.present - spoken_of, some(rng, allowed)):
            build = frozenset(rng.choice(sorted(group)) for group in law.groups) | around
            if in_slots(desk, build):
                yield law, build, examiner.examine(build)


def in_slots(desk: Desk, build) -> bool:
    """Leave out heaps of parts: they are refused at once, and their wirings are without number."""
    return len(build) <= 14


def ask_around(seed: int, rng: Random) -> Desk:
    """Ask the drawn question, and look at some builds besides."""
    instance = fit_instance(seed)
    desk = Desk.for_bench(bench_of(instance))
    for placed in rng.sample(sorted(desk.bench.universe), 2):
        fit_anywhere(desk, replace(instance.question, part=placed.part))
    for build in builds(desk.bench, rng, 3):
        if in_slots(desk, build):
            desk.examine(build)
    return desk


@given(seeds)
@settings(max_examples=25)
def test_no_build_that_breaks_a_verified_law_is_valid(seed):
    rng = Random(seed)
    desk = ask_around(seed, rng)
    for law, build, examination in tried(desk, desk.verified.all(), rng):
        assert not examination.is_valid, (law, build)


@given(seeds)
@settings(max_examples=25)
def test_every_build_that_breaks_a_hopeful_law_is_refused(seed):
    rng = Random(seed)
    desk = ask_around(seed, rng)
    for law, build, examination in tried(desk, desk.hopeful.all(), rng):
        assert not examination.is_open, (law, build)


@given(path_seeds)
@settings(max_examples=20)
def test_what_planning_taught_holds_too(seed):
    rng = Random(seed)
    instance = path_at(seed)
    desk = Desk.for_bench(bench_of(instance))
    plan_path(desk, instance.question)
    for law, build, examination in tried(desk, desk.hopeful.all(), rng):
        assert not examination.is_open, (law, build)
    for law, build, examination in tried(desk, desk.verified.all(), rng):
        assert not examination.is_valid, (law, build)
