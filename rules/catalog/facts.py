"""Facts and what is known about them: a value, or an explicit unknown with the way to measure it."""

from __future__ import annotations

import re
from datetime import date
from typing import Annotated, Literal, NamedTuple

from pydantic import BeforeValidator, model_validator
from pydantic_core import PydanticCustomError

from rules.catalog.entry import Day, Entry, Flag, Number, Text


class Unknown(Entry):
    """A fact that nobody has recorded yet.

    `unknown` says how to find it out, in words for the person who will measure.
    """

    unknown: Text


Value = Flag | Number | Text | tuple[Text, ...]
"""A known value. Numbers carry their unit in the fact's key (`depth_mm`)."""

Fact = Value | Unknown


class Source(Entry):
    """Where a fact comes from. `assumed` is allowed for money only and refused elsewhere."""

    kind: Literal["measured", "maker_sheet", "assumed"]
    ref: Text
    date: Day


class YearSpan(NamedTuple):
    """Model years, closed at both ends."""

    first: int
    last: int

    def __contains__(self, year: object) -> bool:
        return isinstance(year, int) and self.first <= year <= self.last

    def __str__(self) -> str:
        return str(self.first) if self.first == self.last else f"{self.first}-{self.last}"


_YEARS = re.compile(r"([0-9]{4})(?:-([0-9]{4}))?")


def _read_years(raw: object) -> object:
    if isinstance(raw, YearSpan):
        return raw
    found = None if isinstance(raw, bool | float) else _YEARS.fullmatch(str(raw))
    if not found:
        raise PydanticCustomError(
            "bad_years", "a span of model years is written 2016-2019, or 2016 for one year"
        )
    span = YearSpan(int(found[1]), int(found[2] or found[1]))
    if span.last < span.first:
        raise PydanticCustomError("years_reversed", "the last year comes before the first")
    return span


Years = Annotated[YearSpan, BeforeValidator(_read_years)]


class DateSpan(Entry):
    """Calendar days, closed at both ends."""

    first: Day
    last: Day

    @model_validator(mode="after")
    def _ends_in_order(self) -> DateSpan:
        if self.last < self.first:
            raise PydanticCustomError("days_reversed", "the last day comes before the first")
        return self

    def holds(self, day: date) -> bool:
        """Tell whether the day lies in the span."""
        return self.first <= day <= self.last


UNITS = (
    "mm",
    "kg",
    "w",
    "ohm",
    "a",
    "v",
    "l",
    "hz",
    "deg",
    "m",
    "mm2",
    "c",
    "db",
    "percent",
    "months",
    "days",
    "ah",
    "ratio",
    "count",
    "years",
)
"""Suffixes that a numeric fact's key may end with."""


def has_unit(key: str) -> bool:
    """Tell whether a fact's key names its unit (`depth_mm`)."""
    return key.rsplit("_", 1)[-1] in UNITS and "_" in key
