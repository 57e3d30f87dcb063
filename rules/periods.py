"""Days between which no answer changes: price lists, spans of availability and holds begin and end on days."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator
from datetime import date

from rules.catalog.catalog import Catalog
from rules.catalog.rule import Hold


class Periods:
    """The calendar of a catalog, cut at every day on which something begins, or is over."""

    def __init__(self, catalog: Catalog) -> None:
        self._cuts = sorted(set(_cuts(catalog)))

    def number(self, on: date) -> int:
        """Number the period that a day is in, from 0; two days of one period differ in nothing but their date."""
        return bisect_right(self._cuts, on.toordinal())


def _cuts(catalog: Catalog) -> Iterator[int]:
    for prices in catalog.price_lists:
        yield from _ends(prices.first, prices.last)
    for part in catalog.parts.values():
        if part.available is not None:
            yield from _ends(part.available.first, part.available.last)
    for rule in catalog.rules.values():
        if isinstance(rule, Hold):
            yield from _ends(rule.first, rule.last)


def _ends(first: date | None, last: date | None) -> Iterator[int]:
    # Ordinals, since the day after the last day that there is has no date.
    if first is not None:
        yield first.toordinal()
    if last is not None:
        yield last.toordinal() + 1
