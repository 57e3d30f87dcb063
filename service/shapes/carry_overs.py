"""Which parts go on to the rider's next bike."""

from __future__ import annotations

from datetime import date
from typing import Self

from rules.answer import CarryOver, CarryOverAnswer, CarryWord
from rules.catalog.catalog import Catalog
from rules.question import CarryOverQuestion, Fitter
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id, Told
from service.shapes.finding import CauseTold, FindingTold, causes_told, findings_told
from service.shapes.found import FoundAsked
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed
from service.shapes.work import name_of


class CarryOverAsked(Asked):
    """A bike as it is now, and the next one."""

    bike: Id
    next_bike: Id
    on: Day | None = None
    fitter: FitterWord = "shop"
    found: FoundAsked = FoundAsked()

    def to_domain(self, today: date) -> CarryOverQuestion:
        """Read it."""
        return CarryOverQuestion(
            bike=self.bike,
            next_bike=self.next_bike,
            on=self.on or today,
            fitter=self.fitter,
            found=self.found.to_domain(),
        )


class CarriedTold(Told):
    """Whether one part goes on, with which adapters (`extras`), and what it would fetch used.

    `paid_minor` is what was paid for it, null where nobody knows.
    """

    part: str
    name: str
    from_place: str
    answer: CarryWord
    to_place: str | None
    extras: tuple[PlacementTold, ...]
    findings: tuple[FindingTold, ...]
    missing: tuple[CauseTold, ...]
    resale_minor: int
    paid_minor: int | None

    @classmethod
    def from_domain(cls, carried: CarryOver, catalog: Catalog) -> Self:
        """Write the answer for one part."""
        return cls(
            part=carried.part,
            name=name_of(carried.part, catalog),
            from_place=carried.from_place,
            answer=carried.answer,
            to_place=carried.to_place,
            extras=placements_told(carried.extras, catalog),
            findings=findings_told(carried.findings, catalog),
            missing=causes_told(carried.missing),
            resale_minor=carried.resale,
            paid_minor=carried.paid,
        )


class CarryOverTold(Told):
    """Every part that is not stock, with its answer."""

    release: ReleaseNamed
    bike: str
    next_bike: str
    on: date
    fitter: Fitter
    currency: str
    parts: tuple[CarriedTold, ...]
    ask: str

    @classmethod
    def from_domain(cls, answer: CarryOverAnswer, question: CarryOverQuestion, serving: Serving) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            bike=answer.bike,
            next_bike=answer.next_bike,
            on=question.on,
            fitter=question.fitter,
            currency=catalog.shop.currency,
            parts=tuple(CarriedTold.from_domain(part, catalog) for part in answer.parts),
            ask=answer.ask,
        )
