"""Facts and what is known about them: a value, or an explicit unknown with the way to measure it."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, NamedTuple

from pydantic import BeforeValidator, model_validator

from rules.catalog.entry import Entry, Flag, Number, Text


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
    date: date


class YearSpan(NamedTuple):
    """Model years, closed at both ends."""

    first: int
    last: int

    def __contains__(self, year: object) -> bool:
        return isinstance(year, int) and self.first <= year <= self.last

    def __str__(self) -> str:
        return str(self.first) if self.first == self.last else f"{self.first}-{self.last}"


def _read_years(raw: object) -> object:
    if isinstance(raw, int) and not isinstance(raw, bool):
        return YearSpan(raw, raw)
    if isinstance(raw, str):
        first, dash, last = raw.partition("-")
        if first.isdecimal() and (not dash or last.isdecimal()) and len(first) == 4 and len(last) in (0, 4):
            return YearSpan(int(first), int(last) if dash else int(first))
    if isinstance(raw, YearSpan):
        return raw
    message = "a span of model years is written 2016-2019, or 2016 for one year"
    raise ValueError(message)


Years = Annotated[YearSpan, BeforeValidator(_read_years)]


class DateSpan(Entry):
    """Calendar days, closed at both ends."""

    first: date
    last: date

    @model_validator(mode="after")
    def _ends_in_order(self) -> DateSpan:
        if self.last < self.first:
            message = "the last day comes before the first"
            raise ValueError(message)
        return self

    def holds(self, day: date) -> bool:
        """Tell whether the day lies in the span."""
        return self.first <= day <= self.last


UNITS = ("mm", "kg", "w", "ohm", "a", "v", "l", "hz", "deg", "m", "mm2", "c", "db", "percent", "months", "days", "ah")
"""Suffixes that a numeric fact's key may end with."""


def has_unit(key: str) -> bool:
    """Tell whether a fact's key names its unit (`depth_mm`)."""
    return key.rsplit("_", 1)[-1] in UNITS and "_" in key
