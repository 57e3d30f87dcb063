"""A plan's steps are valid without rewiring, its money adds up, and more money never costs more."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import assume, given, settings

from rules.answer import Plan
from rules.build import Placement
from rules.desk import Desk
from rules.examine import Examiner
from rules.path import plan_path
from tests.property.strategies import bench_of, path_at, path_seeds


def planned(seed: int, **more) -> tuple[Desk, Plan]:
    """Plan the drawn path; leave seeds without one."""
    instance = path_at(seed)
    desk = Desk.for_bench(bench_of(instance))
    plan = plan_path(desk, replace(instance.question, **more))
    assume(isinstance(plan, Plan))
    assert isinstance(plan, Plan)
    return desk, plan


@given(path_seeds)
@settings(max_examples=20)
def test_every_step_is_a_valid_bike_from_the_first_visit_on(seed):
    desk, plan = planned(seed)
    examiner, started = Examiner(desk.bench), False
    build = desk.bench.present
    for visit in plan.visits:
        started = started or not visit.is_empty
        build = (build - set(visit.removes)) | set(visit.adds)
        assert visit.build == build
        assert not started or examiner.examine(build).is_valid


@given(path_seeds)
@settings(max_examples=20)
def test_no_step_rewires_what_the_rider_did_not_allow(seed):
    _, plan = planned(seed)
    allowed = path_at(seed).question.allowed_rewiring
    rewired = [change for visit in plan.visits for change in visit.changes if change.kind == "rewired"]
    assert {change.first.partition("@")[0] for change in rewired} <= allowed


@given(path_seeds)
@settings(max_examples=20)
def test_all_totals_are_sums_of_lines(seed):
    _, plan = planned(seed)
    for visit in plan.visits:
        assert visit.spent == sum(line.total for line in visit.lines if line.kind != "resale")
        assert visit.resale == -sum(line.total for line in visit.lines if line.kind == "resale")
    assert plan.spent == sum(visit.spent for visit in plan.visits)
    assert plan.total == sum(line.total for visit in plan.visits for line in visit.lines)
    assert 0 <= plan.waste <= plan.spent


@given(path_seeds)
@settings(max_examples=20)
def test_budgets_hold_in_each_visit_each_year_and_over_all(seed):
    _, plan = planned(seed)
    question = path_at(seed).question
    costs = [visit.spent - (visit.resale if question.resale_counts else 0) for visit in plan.visits]
    for stage, cost in zip(question.stages, costs, strict=True):
        assert stage.budget is None or cost <= stage.budget
    for year, cap in question.year_budgets.items():
        assert sum(c for s, c in zip(question.stages, costs, strict=True) if s.on.year == year) <= cap
    assert question.budget is None or sum(costs) <= question.budget


@given(path_seeds)
@settings(max_examples=15)
def test_a_larger_budget_never_costs_more(seed):
    _, plan = planned(seed)
    question = path_at(seed).question
    eased = tuple(replace(x, budget=None if x.budget is None else x.budget + 20_000) for x in question.stages)
    _, richer = planned(seed, stages=eased, budget=None, year_budgets={})
    assert richer.total <= plan.total


@given(path_seeds)
@settings(max_examples=15)
def test_a_budget_of_just_what_the_plan_spends_changes_nothing(seed):
    _, plan = planned(seed)
    spent = plan.total if path_at(seed).question.resale_counts else plan.spent
    _, again = planned(seed, budget=spent)
    assert (again.total, again.waste) == (plan.total, plan.waste)


@given(path_seeds)
@settings(max_examples=20)
def test_a_part_that_came_out_never_comes_back_and_what_is_locked_stays(seed):
    _, plan = planned(seed)
    gone: set[Placement] = set()
    for visit in plan.visits:
        assert gone.isdisjoint(visit.adds)
        gone |= set(visit.removes)
    assert gone.isdisjoint(path_at(seed).question.locked)


@given(path_seeds)
@settings(max_examples=20)
def test_what_is_wanted_is_there_at_the_end(seed):
    _, plan = planned(seed)
    for want in path_at(seed).question.wants:
        for visit in plan.visits[(want.by or len(plan.visits)) - 1 :]:
            assert any(x.part in want.parts and want.place in (None, x.place) for x in visit.build)


@given(path_seeds)
@settings(max_examples=20)
def test_the_ledger_adds_up_to_the_lines(seed):
    _, plan = planned(seed)
    for number, visit in enumerate(plan.visits, 1):
        bought = [line.total for line in visit.lines if line.kind in ("part", "bundle")]
        assert sum(x.paid or 0 for x in plan.ledger if x.visit == number) == sum(bought)
        assert sum(x.resale for x in plan.ledger if x.sold_at == number) == visit.resale


@given(path_seeds)
@settings(max_examples=20)
def test_the_ledger_has_all_that_is_there_at_the_end_and_is_not_stock(seed):
    desk, plan = planned(seed)
    entries = [Placement(x.part, x.place) for x in plan.ledger if x.place is not None]
    stays = {Placement(x.part, x.place) for x in plan.ledger if x.place is not None and x.stays}
    last = plan.visits[-1].build
    assert len(entries) == len(set(entries))
    assert last - desk.bench.stock <= stays <= last
