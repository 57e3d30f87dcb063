"""What the survey walks over: each different bike with its bench, each part at each place, and where things are written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from functools import cached_property

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.catalog import Bike, Catalog
from rules.catalog.condition import Comparison, Selector
from rules.catalog.part import Part
from rules.catalog.rule import Rule
from rules.conditions import evaluate, leaves
from rules.desk import Desk
from rules.diagnostics import Code, Collector, Span
from rules.draft import Draft, Written
from rules.engine import Engine
from rules.provides import bike_fact


class Ground:
    """A sound catalog with its draft, the day to look at, and where to report."""

    def __init__(self, catalog: Catalog, draft: Draft, collector: Collector, on: date) -> None:
        self.catalog = catalog
        self.draft = draft
        self.collector = collector
        self.on = on
        self.engine = Engine(catalog)
        self.rules: Mapping[str, Written[Rule]] = {rule.what.id: rule for rule in draft.rules}
        self.parts: Mapping[str, Written[Part]] = {part.what.id: part for part in draft.parts}

    def report(self, code: Code, span: Span, message: str, hint: str | None = None) -> None:
        """Report, unless something was already said about this very place."""
        if not self.collector.blames(span):
            self.collector.report(code, span, message, hint)

    @cached_property
    def bikes(self) -> tuple[str, ...]:
        """One bike for each kind of bike that no rule can tell from it, in order of id."""
        first: dict[object, str] = {}
        for bike in self.catalog.bikes.values():
            first.setdefault(self._likeness(bike), bike.id)
        return tuple(sorted(first.values()))

    def alike(self, bike: str) -> tuple[str, ...]:
        """Give all bikes that no rule can tell from one."""
        likeness = self._likeness(self.catalog.bikes[bike])
        return tuple(x.id for x in self.catalog.bikes.values() if self._likeness(x) == likeness)

    def desk(self, bike: str) -> Desk:
        """Give the desk of a bike as it left the works."""
        return self.engine.desk(bike)

    def benches(self) -> Iterator[Bench]:
        """Give the bench of each different bike."""
        return (self.desk(bike).bench for bike in self.bikes)

    def subjects(self, selector: Selector) -> Iterator[tuple[Bench, Placement]]:
        """Give everything that a selector selects, on each different bike, in order."""
        for bench in self.benches():
            for placed in sorted(bench.candidates(selector, None)):
                yield bench, placed

    def is_sold(self, part: str) -> bool:
        """Tell whether a part is for sale on the day."""
        return self.desk(self.bikes[0]).pricer.price(part, self.on) is not None

    def _likeness(self, bike: Bike) -> object:
        if bike.id not in self._likenesses:
            told = tuple(_holds(one, bike) for one in self._asked_by_name)
            self._likenesses[bike.id] = (bike.has.model_dump_json(), told)
        return self._likenesses[bike.id]

    @cached_property
    def _likenesses(self) -> dict[str, object]:
        return {}

    @cached_property
    def _asked_by_name(self) -> tuple[Comparison, ...]:
        """All that rules ask about what a bike is by its name: family, maker, year, trim, mount, cooling."""
        conditions = [when for rule in self.catalog.rules.values() if (when := getattr(rule, "when", None))]
        found = {leaf: None for when in conditions for leaf in leaves(when) if isinstance(leaf, Comparison)}
        return tuple(leaf for leaf in found if leaf.fact.startswith("bike."))


def _holds(comparison: Comparison, bike: Bike) -> bool | None:
    return evaluate(comparison, lambda name: bike_fact(bike, name), lambda _: None).holds
