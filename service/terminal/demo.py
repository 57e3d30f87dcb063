"""`loomway demo`: one rider's whole story."""

from __future__ import annotations

from dataclasses import replace

from rules.answer import CarryOverAnswer, Plan
from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.catalog import Catalog
from rules.explain import sentence
from service import story
from service.serving import Serving
from service.shapes.placement import placements_told
from service.terminal.fit import FITTING, answer_cells, bike_name, tell_fit
from service.terminal.output import amount, say, show_table
from service.terminal.plan import tell_no_plan, tell_plan

MOST_ROWS = 8
"""More would push the story off the screen."""

_ANSWERS = {
    "as_is": "goes on as it is",
    "with_adapter": "goes on with more",
    "no": "does not go on",
    "not_verified": "not verified",
}


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
    rows = [
        (
            catalog.parts[carried.part].name,
            catalog.places[carried.from_place].name,
            _ANSWERS[carried.answer],
            "\n".join(entry.name for entry in placements_told(carried.extras, catalog)),
            "" if carried.paid is None else amount(carried.paid, catalog.shop),
            amount(carried.resale, catalog.shop) if carried.resale else "",
        )
        for carried in answer.parts
    ]
    title = f"Some years later: {bike_name(answer.next_bike, catalog)}"
    show_table(title, ("part", "from", "answer", "together with", "paid", "fetches used"), rows, money=2)
    # One reason each: what would have to change on the next bike is nobody's question here.
    reasons = dict.fromkeys(
        f"  - {sentence(carried.findings[0], catalog)}" for carried in answer.parts if carried.findings
    )
    if reasons:
        say("Why some parts do not go on:", *reasons)
    say("")
