"""`loomway demo`: one rider's whole story."""

from __future__ import annotations

from dataclasses import replace

from rules.answer import CarryOverAnswer, Plan
from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.catalog import Catalog
from service import story
from service.serving import Serving
from service.terminal.fit import FITTING, answer_cells, bike_name, tell_fit
from service.terminal.next_bike import tell_carried
from service.terminal.output import say, show_table
from service.terminal.plan import tell_no_plan, tell_plan

MOST_ROWS = 8
"""More would push the story off the screen."""


def tell(serving: Serving) -> None:
    """Tell the story: what fits, what does not and why, the visits with their money, and the next bike."""
    catalog, engine = serving.catalog, serving.engine
    say(
        f"{catalog.shop.name}. A rider comes in with {bike_name(story.BIKE, catalog)}, as it left the works.",
        "",
    )
    _tell_fitting(serving)
    tell_fit(engine.fit(story.REFUSED), catalog)
    say("")
    plan = engine.path(story.PATH)
    if not isinstance(plan, Plan):
        tell_no_plan(plan, catalog)
        return
    tell_plan(plan, catalog)
    _tell_next_bike(engine.carry_over(replace(story.CARRY_OVER, found=_as_left(plan))), catalog)


def _tell_fitting(serving: Serving) -> None:
    catalog = serving.catalog
    answers = [serving.fit(question) for question in story.looked_at(catalog)]
    fitting = sorted(
        (answer for answer in answers if answer.verdict in FITTING and answer.total is not None),
        key=lambda answer: (answer.total, answer.part),
    )
    rows = [
        (catalog.parts[answer.part].name, *answer_cells(answer, catalog)) for answer in fitting[:MOST_ROWS]
    ]
    title = (
        f"Speakers for the {catalog.places[story.PLACE_LOOKED_AT].name}: {len(fitting)} of {len(answers)} fit"
    )
    show_table(
        f"{title}, here are the cheapest", ("speaker", "answer", "together with", "comes to"), rows, money=1
    )


def _as_left(plan: Plan) -> AsFound:
    """The bike as it is after the last visit."""
    added = {placed for visit in plan.visits for placed in visit.adds}
    stock_left = {gone for visit in plan.visits for gone in visit.removes} - added
    fitted = tuple(
        LedgerEntry(
            placement=Placement(entry.part, entry.place),
            paid=entry.paid,
            fitted_on=entry.on,
            fitter=entry.fitter,
        )
        for entry in plan.ledger
        if entry.stays and entry.place is not None
    )
    return AsFound(fitted=fitted, removed=tuple(sorted(stock_left)))


def _tell_next_bike(answer: CarryOverAnswer, catalog: Catalog) -> None:
    tell_carried(f"Some years later: {bike_name(answer.next_bike, catalog)}", answer.parts, catalog)
    say("")
