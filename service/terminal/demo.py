"""`loomway demo`: one rider's whole story."""

from __future__ import annotations

from dataclasses import replace

from rules.answer import CarryOverAnswer, FitAnswer, Plan
from rules.build import AsFound, LedgerEntry
from rules.catalog.catalog import Catalog
from service import story
from service.serving import Serving
from service.shapes.placement import placements_told
from service.terminal.fit import answer_cells, bike_name, tell_findings, tell_fit
from service.terminal.output import amount, say, show_table
from service.terminal.plan import tell_no_plan, tell_plan

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
    _tell_fitting(engine.fitting_parts(story.BIKE, story.TODAY, "shop"), catalog)
    tell_fit(engine.fit(story.REFUSED), catalog)
    say("")
    plan = engine.path(story.PATH)
    if not isinstance(plan, Plan):
        tell_no_plan(plan, catalog)
        return
    tell_plan(plan, catalog)
    _tell_next_bike(engine.carry_over(replace(story.CARRY_OVER, found=_as_left(plan))), catalog)


def _tell_fitting(answers: tuple[FitAnswer, ...], catalog: Catalog) -> None:
    rows = [
        (catalog.parts[there.part].name, *answer_cells(there, catalog))
        for answer in answers
        if catalog.parts[answer.part].kind == story.KIND_LOOKED_AT
        for there in answer.places
        if there.place == story.PLACE_LOOKED_AT
    ]
    place = catalog.places[story.PLACE_LOOKED_AT].name
    show_table(f"Speakers for the {place}", ("speaker", "answer", "together with", "comes to"), rows, money=1)


def _as_left(plan: Plan) -> AsFound:
    """The bike as it is after the last visit."""
    stock_left = {gone for visit in plan.visits for gone in visit.removes}
    added = [
        LedgerEntry(placement=placed, fitted_on=visit.on)
        for visit in plan.visits
        for placed in visit.adds
        if placed in plan.visits[-1].build
    ]
    return AsFound(fitted=tuple(added), removed=frozenset(stock_left))


def _tell_next_bike(answer: CarryOverAnswer, catalog: Catalog) -> None:
    rows = [
        (
            catalog.parts[carried.part].name,
            _ANSWERS[carried.answer],
            "\n".join(entry.name for entry in placements_told(carried.extras, catalog)),
            amount(carried.resale, catalog.shop) if carried.resale else "",
        )
        for carried in answer.parts
    ]
    title = f"Some years later: {bike_name(answer.next_bike, catalog)}"
    show_table(title, ("part", "answer", "together with", "fetches used"), rows, money=1)
    for carried in answer.parts:
        tell_findings(carried.findings, catalog)
