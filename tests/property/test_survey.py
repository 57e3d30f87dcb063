"""What the survey says of a rule or a part holds for every build, and for every figure that may still be measured."""

from __future__ import annotations

from random import Random

from hypothesis import given, settings

from rules.bench import Bench
from rules.build import STOCK
from rules.catalog.rule import Clearance, Excludes, Requires
from rules.desk import Desk
from rules.engine import Engine
from rules.kinds import clearance, excludes
from rules.question import FitQuestion
from rules.scene import Scene
from rules.survey.contradictions import holds_for_sure
from rules.survey.firing import may_refuse, needed
from rules.survey.fitting import possible_on
from rules.survey.possible import NEITHER, on_bench
from rules.verdict import Status, Verdict
from tests.property.strategies import bench_of, builds, fit_instance, seeds


def guards(bench: Bench, rng: Random):
    """Give every rule with a condition, for every part that it is about, in some builds."""
    for build in builds(bench, rng, 6):
        scene = Scene(bench, build)
        for placed in sorted(build):
            for rule in bench.tables.part_rules[placed.part]:
                if bench.selects(rule.subject, placed):
                    yield scene, placed, rule


@given(seeds)
@settings(max_examples=60)
def test_a_condition_comes_out_as_the_survey_said_it_can(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for scene, placed, rule in guards(bench, rng):
        holds = scene.guard(rule.when, placed).holds
        if holds is not None:
            assert holds in on_bench(rule.when, bench, placed)
        if holds_for_sure(rule.when, bench, placed):
            assert holds is True
        if holds is None:
            assert on_bench(rule.when, bench, placed, NEITHER) != on_bench(rule.when, bench, placed)


@given(seeds)
@settings(max_examples=60)
def test_a_clearance_that_can_refuse_nothing_refuses_nothing(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for scene, placed, rule in guards(bench, rng):
        if isinstance(rule, Clearance) and not may_refuse(rule, bench, placed):
            one_relief = sum(1 for _ in scene.at(placed.place, rule.relieved_by_slot)) <= 1
            assert not list(clearance.check(rule, scene, placed)) or not one_relief


@given(seeds)
@settings(max_examples=60)
def test_a_rule_that_asks_for_nothing_that_could_be_there_is_never_met(seed):
    rng = Random(seed)
    bench = bench_of(fit_instance(seed))
    for scene, placed, rule in guards(bench, rng):
        if isinstance(rule, Requires) and not needed(rule, bench, placed):
            assert next(scene.matching(rule.needs, placed, same_place=rule.same_place), None) is None
        if (
            isinstance(rule, Excludes)
            and rule.together_with is None
            and holds_for_sure(rule.when, bench, placed)
        ):
            assert any(x.status is Status.REFUSED for x in excludes.check(rule, scene, placed))


@given(seeds)
@settings(max_examples=40)
def test_what_fits_and_what_comes_with_it_was_possible(seed):
    instance = fit_instance(seed)
    engine = Engine(instance.catalog)
    bike = instance.question.bike
    if bike not in instance.catalog.bikes:
        return
    possible = possible_on(Desk.for_bench(Bench(engine.tables, instance.catalog.bikes[bike], STOCK)))
    for part in instance.catalog.parts.values():
        if part.slot is None or part.stock_only:
            continue
        question = FitQuestion(bike=bike, part=part.id, on=instance.question.on)
        answer = engine.fit(question)
        if answer.verdict in (Verdict.FITS, Verdict.FITS_WITH):
            fitted = {(part.id, answer.place), *((x.part, x.place) for x in answer.extras)}
            assert fitted <= {(x.part, x.place) for x in possible}
