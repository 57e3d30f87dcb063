"""Alternatives are better in what they say and undominated; cures make a path; why's claims hold when they are tried again."""

from __future__ import annotations

from dataclasses import fields, replace

from hypothesis import assume, given, settings

from rules.alternatives import Alternatives
from rules.answer import NoPlan, Plan
from rules.engine import Engine
from rules.question import PathQuestion
from rules.why import Reasons
from tests.property.strategies import path_at, path_seeds


def engine_and_question(seed: int) -> tuple[Engine, PathQuestion]:
    instance = path_at(seed)
    return Engine(instance.catalog), instance.question


@given(path_seeds)
@settings(max_examples=3)
def test_every_alternative_is_better_in_what_it_says_and_in_nothing_dominated(seed):
    engine, question = engine_and_question(seed)
    answer = engine.alternatives(question)
    assume(isinstance(answer, Alternatives))
    assert isinstance(answer, Alternatives)
    kept = [answer.measures, *(x.measures for x in answer.others)]
    for other in answer.others:
        assert other.better
        assert other.plan.total - answer.cheapest.total == other.dearer_by >= 0
        for better in other.better:
            gain = getattr(answer.measures, better.what) - getattr(other.measures, better.what)
            assert gain == better.by > 0
    for one in kept:
        assert not any(x.is_as_good_as(one) for x in kept if x is not one)
    assert {x.name for x in fields(answer.measures)} >= {y.what for x in answer.others for y in x.better}


@given(path_seeds)
@settings(max_examples=3)
def test_a_budget_from_which_the_plan_changes_is_enough_and_a_minor_unit_less_is_not(seed):
    engine, question = engine_and_question(seed)
    answer = engine.alternatives(replace(question, budget=None, year_budgets={}))
    assume(isinstance(answer, Alternatives))
    assert isinstance(answer, Alternatives)
    days = [stage.on.isoformat() for stage in question.stages]
    for what_if in answer.what_ifs:
        at = days.index(what_if.about)
        for most, total in (
            (what_if.better_from, what_if.better_total),
            (None if what_if.better_from is None else what_if.better_from - 1, answer.cheapest.total),
        ):
            if most is not None:
                stages = list(question.stages)
                stages[at] = replace(stages[at], budget=most)
                again = engine.path(replace(question, stages=tuple(stages), budget=None, year_budgets={}))
                assert isinstance(again, Plan)
                assert again.total == total


@given(path_seeds)
@settings(max_examples=3)
def test_no_purchase_of_a_proven_plan_could_be_moved_for_less_money(seed):
    engine, question = engine_and_question(seed)
    answer = engine.reasons(question)
    assume(isinstance(answer, Reasons))
    assert isinstance(answer, Reasons)
    for reason in answer.purchases:
        assert reason.paid == reason.kept + reason.wasted
        assert "cheaper" not in {moved.outcome for moved in reason.moved}
    assert all(x.dearer_by is None or x.dearer_by >= 0 for x in answer.not_bought)


@given(path_seeds)
@settings(max_examples=3)
def test_with_too_little_money_for_all_a_raise_found_makes_a_path(seed):
    engine, question = engine_and_question(seed)
    plan = engine.path(question)
    assume(isinstance(plan, Plan) and plan.spent > 0)
    assert isinstance(plan, Plan)
    poor = replace(question, budget=0, resale_counts=False)
    answer = engine.cured(poor)
    assume(isinstance(answer, NoPlan) and answer.reason == "conflict")
    assert isinstance(answer, NoPlan)
    for cure in answer.cures:
        if cure.kind == "raise_path_budget":
            assert cure.more is not None
            assert isinstance(engine.path(replace(poor, budget=cure.more)), Plan)
            assert isinstance(engine.path(replace(poor, budget=cure.more - 1)), NoPlan)
