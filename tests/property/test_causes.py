"""A finding's causes alone, with all else unknown, still refuse; without any one of them they do not."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial
from random import Random

from hypothesis import given, settings

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.rule import Clearance, MassLimit, SupplyLimit
from rules.examine import Examiner
from rules.kinds import channel_limit, mass_limit, supply_limit
from rules.kinds.channel_limit import Load
from rules.kinds.supply_limit import Supplied
from rules.scene import Scene
from rules.things import check_placement
from rules.troubles import loads_of
from rules.verdict import Finding, Status
from rules.wiring import wirings
from tests.property.masks import known, masked, masked_channel
from tests.property.strategies import bench_of, builds, fit_instance, seeds, some

MOST_PARTS = 12
"""Heaps of parts have wirings without number."""

Check = Callable[[Bench, Build], Iterator[Finding]]
"""Judges one thing again, on another bench and with other parts around it."""


def refusing(check: Check, bench: Bench, build: Build, finding: Finding) -> bool:
    """Tell whether the same check refuses again, for no more than the same parts."""
    return any(
        x.rule == finding.rule and x.status is Status.REFUSED and x.present <= finding.present
        for x in check(bench, build)
    )


def causes_decide(check: Check, bench: Bench, build: Build, rng: Random) -> int:
    """Put every refusal of a check to the test; give how many there were."""
    refusals = [x for x in check(bench, build) if x.status is Status.REFUSED]
    for finding in refusals:
        facts = known(finding.causes)
        assert refusing(check, masked(bench, facts), finding.present, finding), (finding, "its causes alone")
        others = some(rng, sorted(bench.universe - finding.repairs))
        crowded = check(masked(bench, facts), finding.present | others)
        assert any(x.rule == finding.rule and x.status is Status.REFUSED for x in crowded), (finding, others)
        for fact in sorted(facts):
            if fact[0] != "part.id":
                assert may_pass(check, masked(bench, facts - {fact}), finding.present, finding, rng), (
                    finding,
                    fact,
                )
    return len(refusals)


def may_pass(check: Check, bench: Bench, build: Build, finding: Finding, rng: Random) -> bool:
    """Tell whether the check might not refuse: nobody says what else is there, repairs aside."""
    others = sorted(bench.universe - finding.repairs - finding.present)
    around = [frozenset(), frozenset(others), *(some(rng, others) for _ in range(12))]
    return not all(refusing(check, bench, build | more, finding) for more in around)


def findings_on(placed: Placement, bench: Bench, build: Build) -> Iterator[Finding]:
    """Give the findings on one part."""
    return check_placement(Scene(bench, build), placed) if placed in build else iter(())


@given(seeds)
@settings(max_examples=30)
def test_one_part_is_refused_by_its_causes_and_by_nothing_less(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for build in builds(bench, rng, 2):
        for placed in sorted(build):
            causes_decide(partial(findings_on, placed), bench, build, rng)


@given(seeds)
@settings(max_examples=30)
def test_a_refusal_over_another_part_goes_when_that_part_goes(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for build in builds(bench, rng, 2):
        for placed in sorted(build):
            every_part_counts(partial(part_findings, placed), bench, build, rng)


def part_findings(placed: Placement, bench: Bench, build: Build) -> Iterator[Finding]:
    """Give the findings on one part, but for clearances.

    Room that a part adds cannot refuse, so its being there is no cause.
    """
    rules = bench.tables.catalog.rules
    return (x for x in findings_on(placed, bench, build) if not isinstance(rules.get(x.rule), Clearance))


def every_part_counts(check, bench, build, rng):
    refusals = [x for x in check(bench, build) if x.status is Status.REFUSED]
    for finding in refusals:
        # Two findings of one rule may overlap: then each is told, and the smaller one would do.
        smaller = [x for x in refusals if x.rule == finding.rule and x.present < finding.present]
        hidden = masked(bench, known(finding.causes))
        for other in sorted(finding.present):
            assert smaller or may_pass(
                check, hidden, finding.present - {other}, without(finding, other), rng
            ), (finding, other)


def without(finding: Finding, other: Placement) -> Finding:
    """Give a finding with one part among those that may not be there."""
    return replace(finding, present=finding.present - {other}, repairs=finding.repairs | {other})


@given(seeds)
@settings(max_examples=30)
def test_a_sum_is_refused_by_the_fewest_figures_that_exceed_the_limit(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for build in builds(bench, rng, 2):
        for rule in bench.tables.mass_limits:
            causes_decide(partial(weighed, rule), bench, build, rng)
        for supply in bench.tables.supply_limits:
            causes_decide(
                partial(charged, supply),
                bench,
                build,
                rng,
            )


def weighed(rule: MassLimit, bench: Bench, build: Build) -> Iterator[Finding]:
    return mass_limit.check(rule, Scene(bench, build))


def charged(rule: SupplyLimit, bench: Bench, build: Build) -> Iterator[Finding]:
    return supply_limit.check_charging(rule, Scene(bench, build))


@given(seeds)
@settings(max_examples=30)
def test_a_channel_is_refused_by_its_causes_and_by_nothing_less(seed):
    bench = bench_of(fit_instance(seed))
    for build in builds(bench, Random(seed), 3):
        for load in loads(bench, build):
            for rule in bench.tables.channel_limits:
                for check in (channel_limit.check, too_strong):
                    channel_causes_decide(check, rule, bench, load)


def too_strong(rule, scene, load, driven):
    return channel_limit.too_strong(rule, scene, load) if rule.limit == "speaker_power" else iter(())


def loads(bench: Bench, build: Build) -> list[Load]:
    """Give the loads of the first few wirings of a build."""
    net = bench.net(build, unknown_plugs=True)
    found = [x for x, _ in zip(wirings(net, net.needs(), net.sinks()), range(4), strict=False)]
    return [load for wiring in found for load in loads_of(wiring.feeds)]


def channel_causes_decide(check, rule, bench, load):
    everything = frozenset(x.id for x in bench.part(load.owner).channels)

    def refused(facts) -> bool:
        hidden = load._replace(channel=masked_channel(load.owner.part, load.channel, facts))
        scene = Scene(masked(bench, facts), load.placements)
        return any(
            x.rule == rule.id and x.status is Status.REFUSED for x in check(rule, scene, hidden, everything)
        )

    for finding in check(rule, Scene(bench, load.placements), load, everything):
        if finding.status is Status.REFUSED:
            facts = known(finding.causes)
            assert refused(facts), finding
            for fact in sorted(facts):
                assert fact[0] == "part.id" or not refused_for(
                    finding, check, rule, bench, load, facts - {fact}
                ), (finding, fact)


def refused_for(finding, check, rule, bench, load, facts) -> bool:
    hidden = load._replace(channel=masked_channel(load.owner.part, load.channel, facts))
    again = check(rule, Scene(masked(bench, facts), load.placements), hidden, frozenset())
    return any(x.status is Status.REFUSED and x.present <= finding.present for x in again)


@given(seeds)
@settings(max_examples=40)
def test_a_power_kit_is_refused_by_its_causes_and_by_nothing_less(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    kits = sorted(x for x in bench.universe if bench.part(x).cable)
    amplifiers = sorted(x for x in bench.universe if bench.part(x).supply)
    for kit in kits:
        fed = tuple(sorted(rng.sample(amplifiers, min(len(amplifiers), rng.choice([1, 2, 2, 3])))))
        for rule in bench.tables.supply_limits:
            kit_causes_decide(rule, bench, Supplied(kit=kit, amplifiers=fed))


def kit_causes_decide(rule, bench: Bench, supplied: Supplied):
    whole = frozenset({supplied.kit, *supplied.amplifiers})

    def refused(facts) -> bool:
        scene = Scene(masked(bench, facts), whole)
        return any(x.status is Status.REFUSED for x in supply_limit.check_kit(rule, scene, supplied))

    for finding in supply_limit.check_kit(rule, Scene(bench, whole), supplied):
        if finding.status is Status.REFUSED:
            facts = known(finding.causes)
            assert refused(facts), finding
            assert {Placement(*x) for x in finding.present} <= whole
            for fact in sorted(facts):
                assert not refused(facts - {fact}), (finding, fact)


@given(seeds)
@settings(max_examples=25)
def test_a_build_is_refused_by_the_causes_of_any_one_of_its_findings(seed):
    bench = bench_of(fit_instance(seed))
    for build in (x for x in builds(bench, Random(seed), 2) if len(x) <= MOST_PARTS):
        for finding in Examiner(bench).examine(build).findings:
            if finding.status is Status.REFUSED:
                alone = Examiner(masked(bench, known(finding.causes))).examine(finding.present)
                assert not alone.is_open, finding
