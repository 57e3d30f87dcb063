"""The engine: one catalog, answering every question. It remembers what it has worked out and nothing that changes an answer."""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import replace

from rules.answer import CarryOverAnswer, CartAnswer, FitAnswer, NoPlan, Plan
from rules.bench import Bench
from rules.build import STOCK, AsFound
from rules.catalog.catalog import Catalog
from rules.errors import UnknownBike, UnknownPart, UnknownPlace
from rules.desk import Desk
from rules.fitment import fit_anywhere, fit_at
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, PathQuestion
from rules.tables import Tables
from rules.verdict import Verdict

DESKS_KEPT = 256
"""Bikes whose tables and learned laws are kept; forgetting one costs time, never an answer."""


class Engine:
    """Answers questions about one catalog.

    Raises (all methods): `UnknownBike`, `UnknownPart`, `UnknownPlace` (`rules.errors`), each with the nearest ids.
    """

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog
        self.tables = Tables(catalog)
        self._desks: OrderedDict[str, Desk] = OrderedDict()

    def fit(self, question: FitQuestion) -> FitAnswer:
        """Answer whether a part fits a bike, and what it takes."""
        self._know_part(question.part)
        self._know_place(question.place)
        answers = [self._fit(replace(question, bike=bike)) for bike in self.bikes_meant(question.bike)]
        if len({(x.verdict, x.place, x.extras, x.presets) for x in answers}) == 1:
            return replace(answers[0], bike=question.bike)
        return FitAnswer(
            verdict=Verdict.NOT_VERIFIED,
            bike=question.bike,
            part=question.part,
            place=question.place,
            ask=self.catalog.ambiguous[question.bike].ask,
        )

    def cart(self, question: CartQuestion) -> CartAnswer:
        """Answer whether parts are together complete and free of conflicts on a bike."""
        raise NotImplementedError

    def path(self, question: PathQuestion) -> Plan | NoPlan:
        """Find the cheapest path."""
        raise NotImplementedError

    def carry_over(self, question: CarryOverQuestion) -> CarryOverAnswer:
        """Answer which parts go on to another bike."""
        raise NotImplementedError

    def bikes_meant(self, bike: str) -> tuple[str, ...]:
        """Give the bike, or at a split both sides of it.

        Raises: `UnknownBike`.
        """
        if bike in self.catalog.bikes:
            return (bike,)
        if bike in self.catalog.ambiguous:
            return self.catalog.ambiguous[bike].sides
        raise UnknownBike(bike, [*self.catalog.bikes, *self.catalog.ambiguous])

    def desk(self, bike: str, found: AsFound = STOCK) -> Desk:
        """Give the desk of a bike; those of stock bikes are kept."""
        if found != STOCK:
            return Desk.for_bench(Bench(self.tables, self.catalog.bikes[bike], found))
        if bike not in self._desks:
            self._desks[bike] = Desk.for_bench(Bench(self.tables, self.catalog.bikes[bike]))
            if len(self._desks) > DESKS_KEPT:
                self._desks.popitem(last=False)
        self._desks.move_to_end(bike)
        return self._desks[bike]

    def _fit(self, question: FitQuestion) -> FitAnswer:
        desk = self.desk(question.bike, question.found)
        if question.place is None:
            return fit_anywhere(desk, question)
        return fit_at(desk, question, question.place)

    def _know_part(self, part: str) -> None:
        if part not in self.catalog.parts:
            raise UnknownPart(part, self.catalog.parts)

    def _know_place(self, place: str | None) -> None:
        if place is not None and place not in self.catalog.places:
            raise UnknownPlace(place, self.catalog.places)
