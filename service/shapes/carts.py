"""Is a cart complete and free of conflicts on a bike."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Self

from pydantic import Field

from rules.answer import CartAnswer
from rules.question import CartQuestion, Fitter, Want
from rules.verdict import Verdict
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id, Told
from service.shapes.finding import CauseTold, FindingTold, causes_told, findings_told
from service.shapes.found import FoundAsked
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed
from service.shapes.work import (
    ChangeTold,
    FeedTold,
    LineTold,
    PresetTold,
    changes_told,
    feeds_told,
    lines_told,
    presets_told,
)


class CartPartAsked(Asked):
    """One part in the cart, for a place or for anywhere on the bike."""

    part: Id
    place: Id | None = None

    def to_want(self) -> Want:
        """Read it as something wanted."""
        return Want(parts=(self.part,), place=self.place)


class CartAsked(Asked):
    """A cart for one bike."""

    bike: Id
    parts: Annotated[tuple[CartPartAsked, ...], Field(min_length=1, max_length=100)]
    on: Day | None = None
    fitter: FitterWord = "shop"
    found: FoundAsked = FoundAsked()

    def to_domain(self, today: date) -> CartQuestion:
        """Read it."""
        return CartQuestion(
            bike=self.bike,
            wants=tuple(part.to_want() for part in self.parts),
            on=self.on or today,
            fitter=self.fitter,
            found=self.found.to_domain(),
        )


class CartTold(Told):
    """Whether a cart is whole: where everything goes, what is missing, what conflicts, and the money.

    `rewires` tells whether something laid or fed earlier is cut, pulled out or moved for it.
    """

    release: ReleaseNamed
    verdict: Verdict
    bike: str
    on: date
    fitter: Fitter
    currency: str
    total_minor: int | None
    lines: tuple[LineTold, ...]
    placed: tuple[PlacementTold, ...]
    extras: tuple[PlacementTold, ...]
    presets: tuple[PresetTold, ...]
    displaced: tuple[PlacementTold, ...]
    findings: tuple[FindingTold, ...]
    missing: tuple[CauseTold, ...]
    ask: str
    advice: tuple[FindingTold, ...]
    changes: tuple[ChangeTold, ...]
    feeds: tuple[FeedTold, ...]
    rewires: bool

    @classmethod
    def from_domain(cls, answer: CartAnswer, question: CartQuestion, serving: Serving) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            verdict=answer.verdict,
            bike=answer.bike,
            on=question.on,
            fitter=question.fitter,
            currency=catalog.shop.currency,
            total_minor=answer.total,
            lines=lines_told(answer.lines, catalog),
            placed=placements_told(answer.placed, catalog),
            extras=placements_told(answer.extras, catalog),
            presets=presets_told(answer.presets, catalog),
            displaced=placements_told(answer.displaced, catalog),
            findings=findings_told(answer.findings, catalog),
            missing=causes_told(answer.missing),
            ask=answer.ask,
            advice=findings_told(answer.advice, catalog),
            changes=changes_told(answer.changes),
            feeds=feeds_told(answer.feeds, catalog),
            rewires=answer.rewires,
        )
