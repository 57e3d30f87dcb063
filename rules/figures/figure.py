"""One figure of a visit: a calculation with what went into it and where that comes from; or what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Literal

from rules.calculations.calculation import Answer, Figure, Result, Value
from rules.calculations.registry import calculate, calculation
from rules.errors import MalformedQuestion
from rules.verdict import Cause

Relation = Literal["at_most", "at_least"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A value that goes into a calculation, None where it is not known.

    `causes` are the facts that it is or that it is worked out from; `stated` says where it comes from where no fact is
    behind it, or how it comes of them; `why` tells why there is none, where no fact is missing.
    """

    value: Value | None
    causes: tuple[Cause, ...] = ()
    stated: str = ""
    why: str = ""

    @property
    def missing(self) -> tuple[Cause, ...]:
        """Give the facts that nobody knows."""
        return tuple(cause for cause in self.causes if cause.is_missing)


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """One input as it went in, with its unit."""

    name: str
    unit: str
    known: Known


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """What a result is held against."""

    value: float
    relation: Relation
    stands: bool
    known: Known


@dataclass(frozen=True, slots=True, kw_only=True)
class VisitFigure:
    """What a calculation says of something in a build.

    Attributes:
        about: What it is said of: placements, channels `PART@PLACE:CHANNEL`, places.
        calculation: Id in the registry, which has equation, validity and source.
        result: The figure asked for, in `unit`. None where it is not verified, or where there is none.
        figures: All figures by name.
        missing: Facts without which nothing is said. `why`: the reason where it is another.
        cautions: Ids of what to say with it.
    """

    about: tuple[str, ...]
    calculation: str
    inputs: tuple[Given, ...]
    unit: str
    result: Result = None
    figures: Mapping[str, Figure]
    limit: Limit | None = None
    missing: tuple[Cause, ...] = ()
    why: str = ""
    cautions: tuple[str, ...]

    @property
    def is_verified(self) -> bool:
        """Tell whether everything that it takes is known."""
        return bool(self.figures)

    def known(self, name: str = "", item: int | None = None) -> Known:
        """Give one of its figures to the next calculation; with an item, one of several numbers."""
        if not self.is_verified:
            return Known(value=None, causes=self.missing, why=self.why)
        value = self.figures[name].value if name else self.result
        if isinstance(value, tuple):
            value = value[item] if item is not None else tuple(x for x in value if not isinstance(x, str))
        stated = f"{name or 'result'} of {self.calculation}"
        if value is None or isinstance(value, bool):
            return Known(value=None, why=f"there is no {stated} of {self.about[0]}")
        return Known(value=value, stated=stated)

    def held(self, limit: Known, relation: Relation) -> VisitFigure:
        """Hold the result against a limit; a limit that is not known makes it not verified."""
        if not self.is_verified:
            return self
        if limit.value is None:
            return _not_verified(self, limit.missing, limit.why)
        most, result = _number(limit.value), _number(self.result)
        stands = result >= most if relation == "at_least" else result <= most
        return replace(self, limit=Limit(value=most, relation=relation, stands=stands, known=limit))


def _number(value: object) -> float:
    return float(value) if isinstance(value, int | float) else 0.0


def _not_verified(figure: VisitFigure, missing: tuple[Cause, ...], why: str) -> VisitFigure:
    return replace(figure, result=None, figures={}, missing=missing, why="" if missing else why)


def figure(about: str, asked: str, given: Mapping[str, Known]) -> VisitFigure:
    """Ask a calculation; what is missing is named, and nothing is guessed for it."""
    entry = calculation(asked)
    units = {x.name: x.unit for x in entry.inputs}
    inputs = tuple(Given(name=name, unit=units[name], known=known) for name, known in given.items())
    empty = VisitFigure(
        about=(about,),
        calculation=asked,
        inputs=inputs,
        unit=entry.output.unit,
        figures={},
        cautions=entry.cautions,
    )
    unknown = [known for known in given.values() if known.value is None]
    if unknown:
        missing = tuple(dict.fromkeys(cause for known in unknown for cause in known.missing))
        return _not_verified(empty, missing, next((known.why for known in unknown if known.why), ""))
    try:
        answer = calculate(entry, {name: known.value for name, known in given.items()})
    except MalformedQuestion as refused:
        return _not_verified(empty, (), f"{refused}; {refused.cure}")
    return _answered(empty, answer)


def _answered(empty: VisitFigure, answer: Answer) -> VisitFigure:
    return replace(empty, result=answer.result, figures=answer.figures)


def known_only(given: Mapping[str, Known]) -> dict[str, Known]:
    """Leave out what is not known: for inputs without which a calculation answers, too."""
    return {name: known for name, known in given.items() if known.value is not None}


def merged(figures: Iterable[VisitFigure]) -> tuple[VisitFigure, ...]:
    """Tell once what is the same on both sides: same calculation, same values."""
    told: dict[object, VisitFigure] = {}
    for one in figures:
        limit = None if one.limit is None else (one.limit.value, one.limit.relation)
        key = (one.calculation, tuple((x.name, x.known.value) for x in one.inputs), one.missing, limit)
        before = told.get(key)
        told[key] = (
            one
            if before is None
            else replace(before, about=tuple(dict.fromkeys((*before.about, *one.about))))
        )
    return tuple(told.values())


def missing_of(figures: Iterable[VisitFigure]) -> Iterator[Cause]:
    """Give the facts that are missing, once each."""
    yield from dict.fromkeys(cause for one in figures for cause in one.missing)
