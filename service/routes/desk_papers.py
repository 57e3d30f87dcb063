"""Papers of a plan, whether it is saved or not: which visit, what the salesperson adds, as a page or a PDF."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from fastapi import Response

from rules.catalog.shop import Shop
from rules.errors import MalformedQuestion
from service.desk import words
from service.desk.asked import Fields, day_of, minor_of
from service.desk.pages import paper
from service.desk.papers import Offer
from service.desk.sheets import Paper
from service.desk.view import PlanView, VisitView


def answer_with(
    one: Paper, view: PlanView, visit: VisitView, offer: Offer, told: Mapping[str, object], *, as_pdf: bool
) -> Response:
    """Fill in a paper and send it."""
    values = {
        **told,
        "shop": view.shop,
        "view": view,
        "visit": visit,
        "rider": offer.rider,
        "today": offer.made_on,
        "release": view.serving.name,
        **one.fill(view, visit, offer),
    }
    name = f"{one.id}-{view.question.bike}-{visit.on.isoformat()}"
    return paper(one.template, values, as_pdf=as_pdf, name=name)


def visit_in(view: PlanView, fields: Fields) -> VisitView:
    """Give the visit that a paper is asked for; the first one if none is named.

    Raises:
        MalformedQuestion: Nothing is done then.
    """
    asked = fields.one("visit", str(view.visits[0].number) if view.visits else "")
    found = next((x for x in view.visits if str(x.number) == asked), None)
    if found is None:
        raise MalformedQuestion("visit", "nothing is done then", "go back to the plan")
    return found


def offer_in(fields: Fields, shop: Shop, today: date, rider: str = "") -> Offer:
    """Read what the salesperson adds to a quote.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    valid, earliest = fields.one("valid"), fields.one("earliest")
    return Offer(
        made_on=today,
        valid_until=day_of(valid, "valid") if valid else None,
        deposit=words.money(minor_of(fields.one("deposit"), shop, "deposit"), shop),
        earliest=day_of(earliest, "earliest") if earliest else None,
        rider=rider,
    )
