"""Facts as they are answered: a value with its source, or how to find it out."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Self

from rules.catalog.catalog import Origin
from rules.catalog.facts import DateSpan, Fact, Source, Unknown, YearSpan
from service.shapes.base import RecordedValue, Told


class SourceTold(Told):
    """Where a fact comes from."""

    kind: str
    ref: str
    date: date

    @classmethod
    def from_domain(cls, source: Source) -> Self:
        """Write a source."""
        return cls(kind=source.kind, ref=source.ref, date=source.date)


class YearSpanTold(Told):
    """Model years, closed at both ends."""

    first: int
    last: int

    @classmethod
    def from_domain(cls, span: YearSpan) -> Self:
        """Write a span of model years."""
        return cls(first=span.first, last=span.last)


class DateSpanTold(Told):
    """Calendar days, closed at both ends."""

    first: date
    last: date

    @classmethod
    def from_domain(cls, span: DateSpan) -> Self:
        """Write a span of days."""
        return cls(first=span.first, last=span.last)


class FactTold(Told):
    """One fact.

    Where nobody knows it, `value` is null and `measure` says how to find out. Units stand in the fact's name.
    """

    value: RecordedValue | None
    measure: str | None
    source: SourceTold | None
    model_years: YearSpanTold | None

    @classmethod
    def from_domain(
        cls, fact: Fact | None, source: Source | None = None, years: YearSpan | None = None
    ) -> Self:
        """Write a fact with its source and the model years that it holds for."""
        return cls(
            value=known(fact),
            measure=measure(fact),
            source=SourceTold.from_domain(source) if source else None,
            model_years=YearSpanTold.from_domain(years) if years else None,
        )

    @classmethod
    def from_bike(cls, fact: Fact, origin: Origin | None) -> Self:
        """Write a bike's fact with where it was recorded."""
        return cls.from_domain(fact, origin.source, origin.years) if origin else cls.from_domain(fact)


def known(fact: Fact | None) -> RecordedValue | None:
    """The value of a fact; None where nobody knows it. Several figures, such as the fuses in a bag, are told as words."""
    if isinstance(fact, Unknown):
        return None
    return tuple(map(_word, fact)) if isinstance(fact, tuple) else fact


def _word(value: object) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def measure(fact: Fact | None) -> str | None:
    """How to find out a fact that nobody knows; None where it is known, or where nothing is recorded."""
    return fact.unknown if isinstance(fact, Unknown) else None


def facts_told(facts: Mapping[str, Fact], origins: Mapping[str, Origin], path: str) -> dict[str, FactTold]:
    """Write a group of facts, each with where it was recorded.

    Args:
        path: Where the group stands in the bike (`facts`, `places.rear_pods.geometry`).
    """
    return {
        name: FactTold.from_bike(fact, origins.get(f"{path}.{name}")) for name, fact in sorted(facts.items())
    }
