"""The search without the solver finds the same paths as the one with it, and leaves to the solver what goes too far."""

from dataclasses import replace
from datetime import date

import pytest

from rules.answer import Plan
from rules.engine import Engine
from rules.path import problem_of
from rules.plan import solve
from rules.plan.purse import Purse
from rules.plan.solve import Outcome, Search
from rules.question import PathQuestion, Stage
from tests.oracle.paths_cpsat import cheapest_path
from tests.oracle.planner import seed_of
from tests.oracle.realistic import Instance, realistic

PASSING = 9
"""A question of which the cheapest path has something for a while and sells it on."""
HOME_BUNDLE = 12
SPOILT = (13, 18)
"""Questions without a path."""


def _search(instance: Instance, *, by_tour: bool, by_path: bool = True) -> Outcome:
    desk = Engine(instance.catalog).desk(instance.question.bike, instance.question.found)
    problem = problem_of(desk, instance.question)
    return Search(desk=desk, problem=problem, laws=desk.verified, by_path=by_path, by_tour=by_tour).run()


def _small(number: int) -> Instance:
    return realistic("small", seed_of(1, number))


@pytest.mark.parametrize("number", [0, 2, 3, 4, 7, PASSING, HOME_BUNDLE, 17])
def test_with_and_without_the_solver_the_cheapest_path_is_the_same(number: int) -> None:
    alone, solved = _search(_small(number), by_tour=True), _search(_small(number), by_tour=False)
    assert alone.schedule is not None
    assert solved.schedule is not None
    assert alone.schedule.builds == solved.schedule.builds
    assert (alone.state, alone.cost, alone.waste) == (solved.state, solved.cost, solved.waste)


@pytest.mark.parametrize("number", SPOILT)
def test_with_and_without_the_solver_there_is_no_path(number: int) -> None:
    assert _search(_small(number), by_tour=True).state == "none"
    assert _search(_small(number), by_tour=False).state == "none"


def test_what_is_fitted_for_a_while_is_sold_on() -> None:
    plan = Engine(_small(PASSING).catalog).path(_small(PASSING).question)
    assert isinstance(plan, Plan)
    bought = frozenset().union(*(visit.adds for visit in plan.visits))
    assert bought - plan.visits[-1].build
    assert plan.waste > 0


@pytest.mark.parametrize("by_tour", [True, False])
def test_a_flash_that_nothing_asks_for_is_bought_where_only_with_it_the_wiring_goes_on(
    *, by_tour: bool
) -> None:
    """The fronts stay on their bridged channels, so the rears need the head unit, whose rear a flash wakes."""
    instance = realistic("small", seed_of(11, 47))
    found, full = _search(instance, by_tour=by_tour), cheapest_path(instance.catalog, instance.question)
    assert full is not None
    assert found.schedule is not None
    assert found.cost == full.total
    assert any(x.part.startswith("flash") for x in found.schedule.builds[-1])


def test_a_search_that_goes_too_far_is_left_to_the_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    instance = _small(0)
    alone = Engine(instance.catalog).path(instance.question)
    monkeypatch.setattr(solve, "WORK", 30)
    assert Engine(instance.catalog).path(instance.question) == alone


def test_a_budget_one_cent_short_ends_the_search_without_a_path() -> None:
    instance = _small(4)
    cheapest = _search(instance, by_tour=True)
    plain = replace(
        instance.question, stages=tuple(replace(x, budget=None) for x in instance.question.stages)
    )
    plain = replace(plain, year_budgets={}, budget=None, resale_counts=True)
    free = _search(replace(instance, question=plain), by_tour=True)
    assert free.cost <= cheapest.cost
    for short, state in ((0, "proven"), (1, "none")):
        poor = replace(instance, question=replace(plain, budget=free.cost - short))
        assert _search(poor, by_tour=True).state == state


# Budgets ----------------------------------------------------------------------------------------------------------

FIRST, SECOND, NEXT_YEAR = date(2030, 3, 1), date(2030, 9, 1), date(2031, 3, 1)


def _purse(**limits: object) -> Purse:
    budget = limits.pop("of_a_visit", None)
    stages = tuple(Stage(on=on, budget=budget) for on in (FIRST, SECOND, NEXT_YEAR))  # type: ignore[arg-type]
    question = PathQuestion(bike="", stages=stages, wants=(), **limits)  # type: ignore[arg-type]
    instance = _small(0)
    desk = Engine(instance.catalog).desk(instance.question.bike)
    return Purse(problem_of(desk, question))


def test_without_budgets_a_purse_bears_everything() -> None:
    assert _purse().bears((10**9, 10**9), (0, 0), 10**9, 0)


def test_a_visit_costs_at_most_its_own_budget() -> None:
    purse = _purse(of_a_visit=100)
    assert purse.bears((100,), (0,), 200, 0)
    assert not purse.bears((101,), (0,), 0, 0)
    assert not purse.bears((100,), (0,), 201, 0)


def test_a_year_bears_what_its_visits_cost_together() -> None:
    purse = _purse(year_budgets={2030: 100})
    assert purse.bears((60, 40), (0, 0), 10**9, 0)
    assert not purse.bears((60, 41), (0, 0), 0, 0)


def test_resale_makes_room_only_where_the_question_says_so() -> None:
    assert not _purse(budget=100).bears((110,), (10,), 0, 0)
    assert _purse(budget=100, resale_counts=True).bears((110,), (10,), 0, 0)
    assert _purse(budget=100, resale_counts=True).bears((110,), (0,), 10, 20)
    assert not _purse(budget=100, resale_counts=True).bears((110, 0, 0), (0, 0, 0), 0, 0)
