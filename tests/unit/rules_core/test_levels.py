"""Schedules that cost as little are compared one by one, or weighed by the model level by level: either gives the same."""

import pytest

from rules.answer import Plan
from rules.engine import Engine
from rules.plan import solve
from tests.oracle.realistic import realistic


def _measures(number: int) -> tuple[int, int, int]:
    instance = realistic("small", number)
    answer = Engine(instance.catalog).path(instance.question)
    assert isinstance(answer, Plan)
    assert answer.proof.is_proven
    return answer.total, sum(not visit.is_empty for visit in answer.visits), answer.waste


@pytest.mark.parametrize("number", [1_000_000, 1_000_002, 1_000_003, 1_000_009, 1_000_014, 1_000_019])
def test_the_few_cheapest_schedules_are_told_apart_as_the_levels_do(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Cost, visits and waste agree where no others are looked at, so that the model has to weigh them."""
    one_by_one = _measures(number)
    monkeypatch.setattr(solve, "OTHERS", 0)
    assert _measures(number) == one_by_one


def test_waste_too_large_to_be_weighed_with_pieces_is_weighed_by_itself(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A question whose cheapest plan wastes something."""
    least = _measures(1_000_009)
    assert least[2] > 0
    monkeypatch.setattr(solve, "OTHERS", 0)
    monkeypatch.setattr(solve, "MOST_WASTE", 0)
    assert _measures(1_000_009) == least
