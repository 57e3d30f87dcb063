"""What a calculation needs, gives, rests on and warns of: one entry for each pure function that is offered."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, is_dataclass
from fractions import Fraction
from typing import Literal, assert_never

from rules.errors import MalformedQuestion

Value = float | int | str | tuple[float, ...]

Result = Value | bool | tuple[float | str, ...] | None

Kind = Literal["number", "whole", "word", "numbers"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Input:
    """One figure that a calculation is asked with.

    Attributes:
        name: Keyword of the function.
        unit: Unit of the value; "1" for a ratio, a count or a word.
        kind: A number; a whole number; a word (one of `choices`, if there are any); numbers, at least one.
        least: Smallest value allowed, of each number.
        most: Largest value allowed, of each number.
        default: What is taken where none is given. None: it must be given.
        optional: It may be left out, and the function is then given None: never a figure that nobody entered.
    """

    name: str
    unit: str
    meaning: str
    kind: Kind = "number"
    least: float | None = None
    most: float | None = None
    choices: tuple[str, ...] = ()
    default: Value | None = None
    optional: bool = False

    def read(self, given: object) -> Value:
        """Give a value as the function takes it.

        Raises: MalformedQuestion, naming this input, its range and the cure; never the value.
        """
        match self.kind:
            case "number":
                return self._in_range(self._number(given))
            case "whole":
                return self._whole(given)
            case "word":
                return self._word(given)
            case "numbers":
                return self._numbers(given)
            case _:
                assert_never(self.kind)

    def refuse(self, fault: str) -> MalformedQuestion:
        """Make the error that names this input and says what it takes."""
        return MalformedQuestion(self.name, f"{self.name} {fault}", f"give {self.takes()}")

    def takes(self) -> str:
        """Say what may be given."""
        match self.kind:
            case "word":
                return f"one of {', '.join(self.choices)}" if self.choices else f"a word: {self.meaning}"
            case "numbers":
                noun = "one or more numbers"
            case "whole":
                noun = "a whole number"
            case "number":
                noun = "a number"
            case _:
                assert_never(self.kind)
        unit = "" if self.unit == "1" else f" in {self.unit}"
        return f"{noun}{unit}{_range(self.least, self.most)}"

    def _number(self, given: object) -> float:
        if isinstance(given, bool) or not isinstance(given, int | float | Fraction):
            raise self.refuse("is not a number")
        try:
            number = float(given)
        except OverflowError:
            raise self.refuse("is out of range") from None
        if not math.isfinite(number):
            raise self.refuse("is not a finite number")
        return number

    def _in_range(self, number: float) -> float:
        below = self.least is not None and number < self.least
        above = self.most is not None and number > self.most
        if below or above:
            raise self.refuse("is out of range")
        return number

    def _whole(self, given: object) -> int:
        number = self._in_range(self._number(given))
        if not number.is_integer():
            raise self.refuse("is not a whole number")
        return int(number)

    def _word(self, given: object) -> str:
        if not isinstance(given, str) or not given:
            raise self.refuse("is not a word")
        if self.choices and given not in self.choices:
            raise self.refuse("is not one of the words that it takes")
        return given

    def _numbers(self, given: object) -> tuple[float, ...]:
        if not isinstance(given, tuple | list) or not given:
            raise self.refuse("is not a list of numbers")
        return tuple(self._in_range(self._number(number)) for number in given)


def _range(least: float | None, most: float | None) -> str:
    if least is None and most is None:
        return ""
    if least is None or most is None:
        return f", {'at least' if most is None else 'at most'} {least if most is None else most:g}"
    return f" from {least:g} to {most:g}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """One figure that a calculation gives.

    Attributes:
        name: Of a function that gives a dataclass, the field. Of a function that gives one number, the noun.
        none: What it means that there is none; empty if there always is one.
    """

    name: str
    unit: str
    meaning: str
    none: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """One value with its unit, as answered. A value of None is explained by `none` of its output."""

    value: Result
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a calculation answered.

    Attributes:
        result: The figure that was asked for.
        figures: All figures by name, the result among them.
        inputs: What was asked with, defaults filled in.
        limit: What the result is held against, if anything.
        cautions: Ids of the cautions to show with it.
    """

    result: Result
    figures: Mapping[str, Figure]
    inputs: Mapping[str, Figure]
    limit: float | None
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """One calculation that can be asked for by its id.

    Attributes:
        function: Pure; takes the inputs by name; gives one number, or a frozen dataclass with a field for
            each output.
        output: The figure that is asked for.
        others: What else the dataclass tells.
        limit: Name of the output or input that the result is held against, if any.
        cautions: Ids of the cautions to show wherever the result is.
    """

    id: str
    title: str
    topic: str
    function: Callable[..., object]
    inputs: tuple[Input, ...]
    output: Output
    others: tuple[Output, ...] = ()
    limit: str | None = None
    equation: str
    validity: str
    source: str
    cautions: tuple[str, ...] = ()

    @property
    def outputs(self) -> tuple[Output, ...]:
        """Give the asked figure, then the others."""
        return (self.output, *self.others)

    def answer(self, **given: object) -> Answer:
        """Check what was given, fill in defaults, and calculate.

        Raises: MalformedQuestion if an input is missing, unknown, of the wrong kind or out of range; or from the
            function, if inputs contradict each other.
        """
        values = self.read(given)
        found = self.function(**values)
        figures = {x.name: Figure(value=_plain(_field(found, x)), unit=x.unit) for x in self.outputs}
        units = {x.name: x.unit for x in self.inputs}
        inputs = {name: Figure(value=value, unit=units[name]) for name, value in values.items()}
        return Answer(
            result=figures[self.output.name].value,
            figures=figures,
            inputs=inputs,
            limit=self._limit(figures, inputs),
            cautions=self.cautions,
        )

    def read(self, given: Mapping[str, object]) -> dict[str, Value | None]:
        """Check what was given against the inputs, defaults filled in.

        Raises: MalformedQuestion, for the first input that is not as it should be.
        """
        unknown = sorted(given.keys() - {x.name for x in self.inputs})
        if unknown:
            names = ", ".join(x.name for x in self.inputs)
            raise MalformedQuestion(
                "inputs", f"{self.id} takes no such input", f"give only {names}" if names else "give none"
            )
        return {x.name: self._value(x, given) for x in self.inputs}

    def _value(self, wanted: Input, given: Mapping[str, object]) -> Value | None:
        value = given.get(wanted.name)
        if value is not None:
            return wanted.read(value)
        if wanted.default is None and not wanted.optional:
            raise wanted.refuse("is missing")
        return wanted.default

    def _limit(self, figures: Mapping[str, Figure], inputs: Mapping[str, Figure]) -> float | None:
        if self.limit is None:
            return None
        value = {**inputs, **figures}[self.limit].value
        return float(value) if isinstance(value, int | float) else None


def _field(found: object, output: Output) -> object:
    """Give the field of a dataclass; a single number is the one output itself."""
    return getattr(found, output.name) if is_dataclass(found) else found


def _plain(value: object) -> Result:
    """Give a value without exact fractions and named unit types, which only the core uses."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, tuple):
        return tuple(x if isinstance(x, str) else float(x) for x in value)
    if isinstance(value, int):
        return int(value)
    if isinstance(value, Fraction | float):
        return float(value)
    raise TypeError("a calculation gives numbers, words, tuples of numbers or None")
