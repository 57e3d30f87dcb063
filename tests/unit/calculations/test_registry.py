"""Every calculation is in the registry, and answers or refuses whatever it is given."""

from __future__ import annotations

import math
import pkgutil
from importlib import import_module
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import rules
from rules.calculations.calculation import Calculation, Figure, Input
from rules.calculations.registry import CALCULATIONS, calculate, calculation
from rules.cautions import BY_ID
from rules.errors import MalformedQuestion, UnknownCalculation


def test_every_module_with_calculations_is_registered() -> None:
    found = {
        entry.id
        for module in pkgutil.walk_packages(rules.__path__, "rules.")
        if not module.name.endswith(("__main__", "registry"))
        for entry in getattr(import_module(module.name), "CALCULATIONS", ())
    }
    assert found == set(CALCULATIONS)


def test_calculations_are_in_order_of_id() -> None:
    assert list(CALCULATIONS) == sorted(CALCULATIONS)


def test_unknown_calculation_is_answered_with_the_nearest() -> None:
    with pytest.raises(UnknownCalculation) as refused:
        calculation("gian")
    assert "gain" in refused.value.nearest


@pytest.mark.parametrize("entry", CALCULATIONS.values(), ids=lambda entry: entry.id)
def test_every_calculation_says_what_it_rests_on(entry: Calculation) -> None:
    assert all([entry.title, entry.topic, entry.equation, entry.validity, entry.source])
    assert all(x.meaning and x.unit for x in entry.inputs)
    assert all(x.meaning and x.unit for x in entry.outputs)
    assert set(entry.cautions) <= set(BY_ID)


@pytest.mark.parametrize("entry", CALCULATIONS.values(), ids=lambda entry: entry.id)
def test_figures_that_are_needed_are_named_when_they_are_missing(entry: Calculation) -> None:
    needed = [x.name for x in entry.inputs if x.default is None and not x.optional]
    if needed:
        with pytest.raises(MalformedQuestion) as refused:
            calculate(entry, {})
        assert refused.value.field == needed[0]


def _values(entry: Input) -> st.SearchStrategy[Any]:
    number = st.floats(entry.least, entry.most, allow_nan=False, allow_infinity=False)
    match entry.kind:
        case "whole":
            return st.integers(
                None if entry.least is None else math.ceil(entry.least),
                None if entry.most is None else math.floor(entry.most),
            )
        case "word":
            return st.sampled_from(entry.choices) if entry.choices else st.text(min_size=1, max_size=20)
        case "numbers":
            return st.lists(number, min_size=1, max_size=4).map(tuple)
    return number


def _questions(entry: Calculation) -> st.SearchStrategy[dict[str, Any]]:
    def one(x: Input) -> st.SearchStrategy[Any]:
        left_out = [st.none()] if x.optional or x.default is not None else []
        return st.one_of(_values(x), *left_out)

    return st.fixed_dictionaries({x.name: one(x) for x in entry.inputs})


def _answered(entry: Calculation, question: dict[str, Any]) -> list[Figure]:
    try:
        return list(calculate(entry, question).figures.values())
    except MalformedQuestion:
        return []


@pytest.mark.parametrize("entry", CALCULATIONS.values(), ids=lambda entry: entry.id)
def test_whatever_is_in_range_is_answered_with_finite_figures_or_refused(
    entry: Calculation,
) -> None:
    @given(_questions(entry))
    @settings(max_examples=40, deadline=None, database=None, derandomize=True)
    def ask(question: dict[str, Any]) -> None:
        figures = [figure.value for figure in _answered(entry, question)]
        flat = [x for value in figures for x in (value if isinstance(value, tuple) else (value,))]
        assert all(math.isfinite(x) for x in flat if isinstance(x, int | float))

    ask()
