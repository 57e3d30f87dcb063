"""`loomway next-bike`: what goes on to the next bike, and what both ways there come to."""

from __future__ import annotations

from collections.abc import Iterable

from rules.answer import CarryOver, Plan
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.explain import sentence
from rules.next_bike import NextBike
from rules.question import NextBikeQuestion
from service.serving import Serving
from service.shapes.next_bikes import NextBikeAsked, NextBikeTold
from service.shapes.placement import placements_told
from service.terminal.fit import bike_name
from service.terminal.output import amount, say, say_json, show_table
from service.terminal.work import work_table

_ANSWERS = {
    "as_is": "goes on as it is",
    "with_adapter": "goes on with more",
    "no": "does not go on",
    "not_verified": "not verified",
}


def answer_next_bike(serving: Serving, asked: NextBikeAsked, *, as_json: bool) -> None:
    """Answer, in sentences and tables or as the API does."""
    question = asked.to_domain()
    answer = serving.engine.next_bike(question)
    if as_json:
        say_json(NextBikeTold.from_domain(answer, question, serving))
    else:
        _tell(answer, question, serving.catalog_of(question.found))


def _tell(answer: NextBike, question: NextBikeQuestion, catalog: Catalog) -> None:
    if answer.ask:
        say(f"Ask first: {answer.ask}")
        return
    title = f"From {bike_name(question.bike, catalog)} to {bike_name(question.next_bike, catalog)}"
    tell_carried(title, answer.parts, catalog)
    if not answer.wants:
        say("Nothing is wanted there, and no speakers of the rider's own are on the bike: nothing to plan.")
        return
    _tell_own_way(answer, catalog)
    _tell_sides(answer, catalog)


def tell_carried(title: str, parts: Iterable[CarryOver], catalog: Catalog) -> None:
    """Tell of each part whether it goes on, what for, and one reason for each that does not."""
    parts = tuple(parts)
    rows = [
        (
            catalog.parts[carried.part].name,
            catalog.places[carried.from_place].name,
            _ANSWERS[carried.answer],
            "\n".join(entry.name for entry in placements_told(carried.extras, catalog)),
            "" if carried.paid is None else amount(carried.paid, catalog.shop),
            amount(carried.resale, catalog.shop) if carried.resale else "",
        )
        for carried in parts
    ]
    show_table(title, ("part", "from", "answer", "together with", "paid", "fetches used"), rows, money=2)
    # One reason each: what would have to change on the next bike is nobody's question here.
    reasons = dict.fromkeys(
        f"  - {sentence(carried.findings[0], catalog)}" for carried in parts if carried.findings
    )
    if reasons:
        say("Why some parts do not go on:", *reasons)


def _tell_own_way(answer: NextBike, catalog: Catalog) -> None:
    if answer.plan is None:
        say(
            "No way to what is wanted there was proven; a plan for that bike alone says what stands in the way."
        )
        return
    for visit in answer.plan.visits:
        if not visit.is_empty:
            where = "in the workshop" if visit.fitter == "shop" else "at home"
            say("", f"Visit of {visit.on}, fitted {where}")
            _tell_added(visit.adds, answer.own, catalog)
            work_table("", visit.lines, visit.spent - visit.resale, catalog)
    for preset in answer.presets:
        say(f"  To be preset anew: {catalog.parts[preset.amplifier.part].name}")
    fetches = {carried.part for carried in answer.parts if carried.resale}
    for told in placements_told(answer.sold, catalog):
        word = "Sold on" if told.part in fetches else "Not needed there"
        say(f"  {word}: {told.name} ({told.place_name})")


def _tell_added(adds: Iterable[Placement], own: tuple[Placement, ...], catalog: Catalog) -> None:
    """Tell which of what is fitted the rider brings along; of a part that is brought and bought, so many are brought."""
    left = [x.part for x in own]
    rows = []
    for told in placements_told(adds, catalog):
        is_own = told.part in left
        if is_own:
            left.remove(told.part)
        rows.append((told.name, told.place_name, "from the old bike" if is_own else "new"))
    show_table("", ("fitted", "where", "from"), rows)


def _tell_sides(answer: NextBike, catalog: Catalog) -> None:
    shop, plan, new = catalog.shop, answer.plan, answer.new
    rows = [
        _side("with the parts that there are", plan, answer.fetched, answer.net, catalog),
        _side("all sold, everything new", new, answer.worth, answer.new_net, catalog),
    ]
    show_table("What it comes to", ("way", "plan", "parts sold for", "in all"), rows, money=3)
    if answer.net is not None and answer.new_net is not None:
        saved = answer.new_net - answer.net
        if saved > 0:
            say(f"Taking parts along saves {amount(saved, shop)}.")
        else:
            say("Taking parts along saves nothing.")


def _side(
    way: str, plan: Plan | None, fetched: int, net: int | None, catalog: Catalog
) -> tuple[str, str, str, str]:
    if plan is None or net is None:
        return way, "no way proven", "", ""
    shop = catalog.shop
    return way, amount(plan.total, shop), amount(fetched, shop), amount(net, shop)
