"""Calculations: what each takes and gives, and what one answered. Everything here is made from its entry in the registry."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field, create_model

from rules.calculations.calculation import Answer, Calculation, Figure, Input, Kind, Output
from rules.calculations.registry import CALCULATIONS
from rules.cautions import Caution, cautions_of
from service.serving import Serving
from service.shapes.base import Asked, Told
from service.shapes.release import ReleaseNamed

MOST_NUMBERS = 50
"""Numbers that one input of several may hold."""

LONGEST_WORD = 200

Shown = bool | float | str | tuple[float | str, ...]
"""A figure as it is told: one number, word or yes, or several of them."""


# Asked --------------------------------------------------------------------------------------------


def asked_of(calculation: Calculation) -> type[Asked]:
    """Make the model of a calculation's inputs: names, ranges and choices are those of its entry."""
    fields: dict[str, Any] = {
        entry.name: (_annotation(entry), _default(entry)) for entry in calculation.inputs
    }
    words = (word.capitalize() for word in operation_of(calculation).split("_"))
    return create_model("".join([*words, "Asked"]), __base__=Asked, __doc__=calculation.title, **fields)


def operation_of(calculation: Calculation) -> str:
    """Give the operation id of a calculation."""
    return f"calculate_{calculation.id.replace('-', '_')}"


def _annotation(entry: Input) -> Any:  # noqa: ANN401 -- a type that is made here
    one = _one(entry)
    taken: Any = one | None if entry.optional else one
    return Annotated[taken, Field(description=_meaning(entry))]


def _meaning(entry: Input) -> str:
    return entry.meaning if entry.unit == "1" else f"{entry.meaning} [{entry.unit}]"


def _default(entry: Input) -> Any:  # noqa: ANN401 -- what the function takes
    return ... if entry.default is None and not entry.optional else entry.default


def _one(entry: Input) -> Any:  # noqa: ANN401 -- a type that is made here
    match entry.kind:
        case "whole":
            return Annotated[int, Field(ge=entry.least, le=entry.most)]
        case "word" if entry.choices:
            return Literal[entry.choices]
        case "word":
            return Annotated[str, Field(min_length=1, max_length=LONGEST_WORD)]
        case "numbers":
            least, number = 0 if entry.default == () else 1, _number(entry)
            # Made here, so that no type checker knows it.
            return Annotated[
                tuple.__class_getitem__((number, ...)), Field(min_length=least, max_length=MOST_NUMBERS)
            ]
    return _number(entry)


def _number(entry: Input) -> Any:  # noqa: ANN401 -- a type that is made here
    return Annotated[float, Field(ge=entry.least, le=entry.most, allow_inf_nan=False)]


# Told ---------------------------------------------------------------------------------------------


class InputTakenTold(Told):
    """One input: its unit (1: a ratio, a count or a word), its range or choices, and what stands where it is left out."""

    name: str
    unit: str
    meaning: str
    kind: Kind
    is_needed: bool
    least: float | None
    most: float | None
    choices: tuple[str, ...]
    default: Shown | None

    @classmethod
    def from_domain(cls, entry: Input) -> Self:
        """Write an input."""
        return cls(
            name=entry.name,
            unit=entry.unit,
            meaning=entry.meaning,
            kind=entry.kind,
            is_needed=entry.default is None and not entry.optional,
            least=entry.least,
            most=entry.most,
            choices=entry.choices,
            default=entry.default,
        )


class OutputGivenTold(Told):
    """One figure that is given; `none` says what it means that there is none."""

    name: str
    unit: str
    meaning: str
    none: str

    @classmethod
    def from_domain(cls, entry: Output) -> Self:
        """Write an output."""
        return cls(name=entry.name, unit=entry.unit, meaning=entry.meaning, none=entry.none)


class CautionTold(Told):
    """What to say to whoever acts on a result."""

    id: str
    when: str
    text: str
    source: str

    @classmethod
    def from_domain(cls, caution: Caution) -> Self:
        """Write a caution."""
        return cls(id=caution.id, when=caution.when, text=caution.text, source=caution.source)


def cautions_told(ids: tuple[str, ...]) -> tuple[CautionTold, ...]:
    """Write the cautions of these ids in their order."""
    return tuple(CautionTold.from_domain(caution) for caution in cautions_of(ids))


class CalculationOffered(Told):
    """One calculation: what it takes and gives, what it rests on, and the cautions that come with it."""

    id: str
    title: str
    topic: str
    address: str
    inputs: tuple[InputTakenTold, ...]
    outputs: tuple[OutputGivenTold, ...]
    equation: str
    validity: str
    source: str
    cautions: tuple[str, ...]

    @classmethod
    def from_domain(cls, entry: Calculation) -> Self:
        """Write an entry of the registry."""
        return cls(
            id=entry.id,
            title=entry.title,
            topic=entry.topic,
            address=f"/v1/calculations/{entry.id}",
            inputs=tuple(InputTakenTold.from_domain(x) for x in entry.inputs),
            outputs=tuple(OutputGivenTold.from_domain(x) for x in entry.outputs),
            equation=entry.equation,
            validity=entry.validity,
            source=entry.source,
            cautions=entry.cautions,
        )


class CalculationsOffered(Told):
    """All calculations, in order of id."""

    calculations: tuple[CalculationOffered, ...]

    @classmethod
    def from_domain(cls) -> Self:
        """Write the registry."""
        return cls(calculations=tuple(map(CalculationOffered.from_domain, CALCULATIONS.values())))


class CalculationsResponse(CalculationsOffered):
    """All calculations, and the release that offers them."""

    release: ReleaseNamed

    @classmethod
    def of(cls, serving: Serving) -> Self:
        """Write the registry and the release."""
        offered = CalculationsOffered.from_domain()
        return cls(release=ReleaseNamed.from_domain(serving), calculations=offered.calculations)


class FigureTold(Told):
    """One figure with its unit; `value` is null where there is none, and `meaning` then says what that means."""

    name: str
    value: Shown | None
    unit: str
    meaning: str

    @classmethod
    def from_domain(cls, entry: Output, figure: Figure) -> Self:
        """Write a figure."""
        meaning = entry.none if figure.value is None and entry.none else entry.meaning
        return cls(name=entry.name, value=figure.value, unit=figure.unit, meaning=meaning)


class GivenTold(Told):
    """One input as it was taken; null where it was left out and nothing is assumed."""

    name: str
    value: Shown | None
    unit: str


class Calculated(Told):
    """What a calculation answered: the figure asked for, all figures, what they rest on, and the cautions to show."""

    calculation: str
    title: str
    result: Shown | None
    unit: str
    limit: float | None
    inputs: tuple[GivenTold, ...]
    figures: tuple[FigureTold, ...]
    equation: str
    validity: str
    source: str
    cautions: tuple[CautionTold, ...]

    @classmethod
    def from_domain(cls, entry: Calculation, answer: Answer) -> Self:
        """Write an answer."""
        return cls(
            calculation=entry.id,
            title=entry.title,
            result=answer.result,
            unit=entry.output.unit,
            limit=answer.limit,
            inputs=tuple(
                GivenTold(name=name, value=x.value, unit=x.unit) for name, x in answer.inputs.items()
            ),
            figures=tuple(FigureTold.from_domain(x, answer.figures[x.name]) for x in entry.outputs),
            equation=entry.equation,
            validity=entry.validity,
            source=entry.source,
            cautions=cautions_told(answer.cautions),
        )


class CalculatedResponse(Calculated):
    """What a calculation answered, and the release that did."""

    release: ReleaseNamed

    @classmethod
    def of(cls, entry: Calculation, answer: Answer, serving: Serving) -> Self:
        """Write an answer and the release."""
        told = Calculated.from_domain(entry, answer)
        return cls(release=ReleaseNamed.from_domain(serving), **dict(told))
