"""From one wiring to the next every connection has one fate: kept, let go, or made."""

from __future__ import annotations

from collections import Counter
from random import Random

from hypothesis import given, settings

from rules.changes import changes_between
from rules.troubles import unchecked_wirings
from rules.wiring import Option
from tests.property.strategies import bench_of, builds, fit_instance, seeds

MADE = {"connected", "inserted", "extracted", "re-plugged"}


def pairs(option: Option) -> set[tuple[str, str]]:
    return {(str(one), str(other)) for one, other in option.mates}


def steps(seed: int):
    """Draw two builds with a wiring each, and tell how each connection fares."""
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    drawn = [build for build in (bench.present, *builds(bench, rng, 6)) if len(build) < 14]
    wired = [(build, options[:8]) for build in drawn if (options := unchecked_wirings(bench, build))]
    for before, olds in wired:
        for after, news in wired:
            old, new = rng.choice(olds), rng.choice(news)
            yield bench, before, old, after, new, list(changes_between(bench, before, old, after, new))


@given(seeds)
@settings(max_examples=30)
def test_the_new_wiring_is_what_was_kept_and_what_was_made(seed):
    for *_, new, changes in steps(seed):
        made = [(x.first, x.second) for x in changes if x.kind in MADE | {"kept"}]
        assert Counter(made) == Counter(pairs(new))


@given(seeds)
@settings(max_examples=30)
def test_the_old_wiring_is_what_was_kept_released_or_given_up_to_what_went_between(seed):
    for _, _, old, _, new, changes in steps(seed):
        kept = {(x.first, x.second) for x in changes if x.kind == "kept"}
        released = {(x.first, x.second) for x in changes if x.kind == "released"}
        assert kept == pairs(old) & pairs(new)
        assert released <= pairs(old) - pairs(new)
        replaced = pairs(old) - kept - released
        ends = {end for x in changes if x.kind == "inserted" for end in (x.first, x.second)}
        assert all(set(pair) <= ends for pair in replaced)


@given(seeds)
@settings(max_examples=30)
def test_nothing_changes_from_a_wiring_to_itself(seed):
    for bench, before, old, _, _, _ in steps(seed):
        assert {x.kind for x in changes_between(bench, before, old, before, old)} <= {"kept"}


@given(seeds)
@settings(max_examples=30)
def test_what_is_inserted_one_way_is_extracted_on_the_way_back(seed):
    for bench, before, old, after, new, changes in steps(seed):
        back = list(changes_between(bench, after, new, before, old))
        if any(x.kind == "inserted" for x in changes):
            assert {x.kind for x in back} & {"extracted", "released"}
        assert len(pairs(new) - pairs(old)) == sum(x.kind in MADE for x in changes)
