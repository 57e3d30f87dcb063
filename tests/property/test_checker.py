"""The checker finds no fault in what the planner makes, and finds every fault that is put into it."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from random import Random

import pytest
from hypothesis import assume, given, settings

from rules.answer import NoPlan, Plan
from rules.checker import Checker, Index
from rules.desk import Desk
from rules.path import plan_path
from rules.question import PathQuestion
from tests.property.spoilings import NEUTRAL, SPOILINGS
from tests.property.strategies import bench_of, path_at, path_seeds, seeds


def planned(seed: int) -> tuple[Checker, PathQuestion, Plan | NoPlan]:
    """Plan the drawn path."""
    instance = path_at(seed)
    bench = bench_of(instance)
    question = replace(instance.question, bike=bench.bike.id)
    return Checker(Index(instance.catalog)), question, plan_path(Desk.for_bench(bench), question)


def planned_path(seed: int) -> tuple[Checker, PathQuestion, Plan]:
    """Plan the drawn path; leave seeds without one."""
    checker, question, plan = planned(seed)
    assume(isinstance(plan, Plan))
    assert isinstance(plan, Plan)
    return checker, question, plan


@given(path_seeds)
@settings(max_examples=25)
def test_no_fault_is_found_in_a_plan_of_the_planner(seed):
    checker, question, plan = planned_path(seed)
    assert checker.check(question, plan) == ()


@given(path_seeds, seeds)
@settings(max_examples=20)
def test_every_spoiling_is_found(seed, drawn):
    checker, question, plan = planned_path(seed)
    for name, spoil in SPOILINGS.items():
        spoiled = spoil(Random(f"{name} {drawn}"), plan)
        if spoiled is not None and spoiled != plan:
            assert checker.check(question, spoiled), name


@given(path_seeds, seeds)
@settings(max_examples=15)
def test_what_is_told_in_another_order_or_is_not_checked_is_no_fault(seed, drawn):
    checker, question, plan = planned_path(seed)
    for name, change in NEUTRAL.items():
        assert checker.check(question, change(Random(drawn), plan)) == (), name


@cache
def busy_plans() -> tuple[Plan, ...]:
    """Give a few plans in which parts come and go and presets are made."""
    plans = (planned(seed)[2] for seed in (8, 15, 18))
    return tuple(plan for plan in plans if isinstance(plan, Plan))


@pytest.mark.parametrize("name", SPOILINGS)
def test_each_spoiling_has_something_to_spoil(name):
    spoiled = [SPOILINGS[name](Random(name), plan) for plan in busy_plans()]
    assert any(one is not None and one not in busy_plans() for one in spoiled)
