"""Is a cart complete and free of conflicts on a bike."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Self

from pydantic import Field

from rules.answer import CartAnswer
from rules.question import CartQuestion, Fitter, Want
from service.serving import Serving
from service.shapes.base import Asked, Day, FitterWord, Id
from service.shapes.found import FoundAsked
from service.shapes.judged import JudgedTold, judged
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed


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


class CartTold(JudgedTold):
    """Whether a cart is whole: where everything goes, what is missing, what conflicts, and the money."""

    release: ReleaseNamed
    bike: str
    on: date
    fitter: Fitter
    currency: str
    placed: tuple[PlacementTold, ...]

    @classmethod
    def from_domain(cls, answer: CartAnswer, question: CartQuestion, serving: Serving) -> Self:
        """Write an answer."""
        catalog = serving.catalog_of(question.found)
        return cls(
            **judged(answer, catalog),
            release=ReleaseNamed.from_domain(serving),
            bike=answer.bike,
            on=question.on,
            fitter=question.fitter,
            currency=catalog.shop.currency,
            placed=placements_told(answer.placed, catalog),
        )
