"""A calculation checks what it is given, and says what it takes."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

import pytest

from rules.calculations.calculation import Calculation, Figure, Input, Output
from rules.errors import MalformedQuestion


@dataclass(frozen=True)
class Split:
    each_a: float
    spare: float | None
    words: tuple[str, ...]


def split(current_a: float, ways: int, how: str, spare: float | None, at: tuple[float, ...]) -> Split:
    return Split(each_a=current_a / ways, spare=spare, words=(how, str(len(at))))


SPLIT = Calculation(
    id="split",
    title="Split a current",
    topic="tests",
    function=split,
    inputs=(
        Input(name="current_a", unit="A", meaning="current", least=0, most=100),
        Input(name="ways", unit="1", meaning="ways", kind="whole", least=1, most=8, default=2),
        Input(
            name="how", unit="1", meaning="how", kind="word", choices=("evenly", "oddly"), default="evenly"
        ),
        Input(name="spare", unit="A", meaning="spare", least=0, most=10, optional=True),
        Input(name="at", unit="V", meaning="voltages", kind="numbers", least=6, most=16, default=(12.0,)),
    ),
    output=Output(name="each_a", unit="A", meaning="current of each"),
    others=(
        Output(name="spare", unit="A", meaning="spare", none="nobody said"),
        Output(name="words", unit="1", meaning="words"),
    ),
    limit="current_a",
    equation="I / n",
    validity="any",
    source="arithmetic",
    cautions=("estimate",),
)


def refused(**given: object) -> MalformedQuestion:
    with pytest.raises(MalformedQuestion) as caught:
        SPLIT.answer(**given)
    return caught.value


def test_an_answer_has_every_figure_with_its_unit():
    answer = SPLIT.answer(current_a=9, ways=3)
    assert answer.result == 3.0
    assert answer.figures["each_a"] == Figure(value=3.0, unit="A")
    assert answer.figures["spare"].value is None
    assert answer.figures["words"].value == ("evenly", "1")
    assert answer.limit == 9.0
    assert answer.cautions == ("estimate",)


def test_what_was_left_out_is_shown_with_its_default():
    assert SPLIT.answer(current_a=9).inputs["ways"] == Figure(value=2, unit="1")
    assert SPLIT.answer(current_a=9).inputs["spare"] == Figure(value=None, unit="A")


def test_an_exact_fraction_is_a_number():
    assert SPLIT.answer(current_a=Fraction(1, 2)).result == 0.25


@pytest.mark.parametrize(
    ("given", "field", "cure"),
    [
        ({}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": -1}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": 101}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": True}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": "9"}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": float("nan")}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": float("inf")}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": 10**400}, "current_a", "give a number in A from 0 to 100"),
        ({"current_a": 1, "ways": 1.5}, "ways", "give a whole number from 1 to 8"),
        ({"current_a": 1, "ways": 9}, "ways", "give a whole number from 1 to 8"),
        ({"current_a": 1, "how": "badly"}, "how", "give one of evenly, oddly"),
        ({"current_a": 1, "how": 3}, "how", "give one of evenly, oddly"),
        ({"current_a": 1, "at": ()}, "at", "give one or more numbers in V from 6 to 16"),
        ({"current_a": 1, "at": (12, 40)}, "at", "give one or more numbers in V from 6 to 16"),
        ({"current_a": 1, "at": 12}, "at", "give one or more numbers in V from 6 to 16"),
    ],
)
def test_a_value_that_cannot_be_taken_is_named_with_its_cure(given, field, cure):
    assert (refused(**given).field, refused(**given).cure) == (field, cure)


def test_an_input_that_does_not_exist_is_refused_without_repeating_it():
    error = refused(current_a=1, volts=3)
    assert "volts" not in str(error)
    assert error.cure == "give only current_a, ways, how, spare, at"
