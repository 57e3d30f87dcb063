"""The engine: one catalog, answering every question. It holds compiled tables and nothing that changes an answer."""

from __future__ import annotations

from rules.answer import CarryOverAnswer, CartAnswer, FitAnswer, NoPlan, Plan
from rules.catalog.catalog import Catalog
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, PathQuestion


class Engine:
    """Answers questions about one catalog.

    Raises (all methods): `UnknownBike`, `UnknownPart`, `UnknownPlace` (`rules.errors`), each with the nearest ids.
    """

    def __init__(self, catalog: Catalog) -> None:
        self.catalog = catalog

    def fit(self, question: FitQuestion) -> FitAnswer:
        """Answer whether a part fits a bike, and what it takes."""
        raise NotImplementedError

    def cart(self, question: CartQuestion) -> CartAnswer:
        """Answer whether parts are together complete and free of conflicts on a bike."""
        raise NotImplementedError

    def path(self, question: PathQuestion) -> Plan | NoPlan:
        """Find the cheapest path."""
        raise NotImplementedError

    def carry_over(self, question: CarryOverQuestion) -> CarryOverAnswer:
        """Answer which parts go on to another bike."""
        raise NotImplementedError
