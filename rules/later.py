"""What a later visit would need: with what a cart buys now, can the bike's other zones be served then without rewiring?"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rules.answer import CartAnswer, NoPlan, Plan, Visit
from rules.catalog.catalog import Bike, Catalog
from rules.errors import MalformedQuestion
from rules.question import CartQuestion, PathQuestion, Stage, Want
from rules.verdict import Verdict

NOW, THEN = 1, 2
"""The visit in which the cart is fitted, and the one after it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneLater:
    """What the cheapest new speakers of a zone take at a later visit: the plan over both visits, or why there is none."""

    zone: str
    plan: Plan | NoPlan

    @property
    def visit(self) -> Visit | None:
        """The later visit; None where the zone cannot be served then, or nobody can tell."""
        return self.plan.visits[THEN - 1] if isinstance(self.plan, Plan) else None


def check_later(question: CartQuestion, on: date) -> None:
    """Refuse a later visit that is not later.

    Raises: `MalformedQuestion`.
    """
    if on <= question.on:
        raise MalformedQuestion(
            "later_on", "the later visit is not after the day of the cart", "name a later day"
        )


def zones_later(
    catalog: Catalog, bike: Bike, question: CartQuestion, answer: CartAnswer, on: date
) -> Iterator[tuple[str, PathQuestion]]:
    """Give, for each zone in which a cart that is whole puts no speakers, the question what new ones take on a later day.

    The first visit may cost what is paid for the cart with its extras, and no more: so it buys nothing ahead.
    """
    if answer.verdict not in (Verdict.FITS, Verdict.FITS_WITH) or answer.total is None:
        return
    paid = sum(line.total for line in answer.lines if line.kind != "resale")
    bought = sorted({*answer.placed, *answer.extras})
    zones = {place: catalog.places[place].zone for place in sorted(bike.has.places)}
    served = {zones[x.place] for x in bought if catalog.parts[x.part].speaker is not None}
    first = tuple(Want(parts=(x.part,), place=x.place, by=NOW) for x in bought)
    for zone in sorted({x for x in zones.values() if x is not None and x not in served}):
        speakers = _speakers(catalog, {place for place in zones if zones[place] == zone})
        if speakers:
            yield (
                zone,
                PathQuestion(
                    bike=question.bike,
                    stages=(
                        Stage(on=question.on, fitter=question.fitter, budget=paid),
                        Stage(on=on, fitter=question.fitter),
                    ),
                    wants=(*first, Want(parts=speakers, zone=zone)),
                    found=question.found,
                ),
            )


def _speakers(catalog: Catalog, places: set[str]) -> tuple[str, ...]:
    """Give the speakers for sale that have a slot at one of these places."""
    return tuple(
        part.id
        for part in catalog.parts.values()
        if part.speaker is not None
        and not part.stock_only
        and any(part.slot in catalog.places[x].slots and (not part.at or x in part.at) for x in places)
    )
