"""Other plans and other budgets, as tables for the salesperson."""

from __future__ import annotations

from rules.alternatives import Alternative, Alternatives, Better, WhatIf
from rules.catalog.catalog import Catalog
from rules.catalog.shop import Shop
from service.shapes.placement import placements_told
from service.terminal.output import amount, say, show_table

_BETTER = {
    "spent": "{money} less to pay before anything is sold on",
    "visits": "{count} fewer",
    "waste": "{money} less is gone at the end",
    "wants_first": "{count} more of what is wanted after the first visit",
    "first_visit": "{money} less at the first visit",
}
BUDGETS = {"budget": "of the visit of {about}", "year_budget": "of {about}", "path_budget": "for everything"}


def tell_alternatives(answer: Alternatives, catalog: Catalog) -> None:
    """Tell what else is worth a look, and what another budget would change."""
    if not answer.others:
        say("", "No other plan is better in anything: not in money, visits, or what is there first.")
    for number, other in enumerate(answer.others, 1):
        _tell_other(number, other, catalog)
    for what_if in answer.what_ifs:
        _tell_what_if(what_if, answer, catalog.shop)


def _tell_other(number: int, other: Alternative, catalog: Catalog) -> None:
    shop = catalog.shop
    gains = "; ".join(better_words(better, shop) for better in other.better)
    dearer = f"{amount(other.dearer_by, shop)} dearer" if other.dearer_by else "for the same money"
    rows = [
        (
            str(visit.on),
            "\n".join(f"{x.name} ({x.place_name})" for x in placements_told(visit.adds, catalog)),
            amount(visit.spent, shop),
            amount(visit.resale, shop),
        )
        for visit in other.plan.visits
        if not visit.is_empty
    ]
    rows.append(("in all", "", amount(other.plan.spent, shop), amount(other.plan.resale, shop)))
    show_table(
        f"Other way {number}: {gains}; {dearer}", ("visit", "fitted", "spent", "sold on for"), rows, money=2
    )


def better_words(better: Better, shop: Shop) -> str:
    """Say what is better, and by how much."""
    told = _BETTER[better.what].format(money=amount(better.by, shop), count=better.by)
    return f"{told} {'visits' if better.by > 1 else 'visit'}" if better.what == "visits" else told


def _tell_what_if(what_if: WhatIf, answer: Alternatives, shop: Shop) -> None:
    name = BUDGETS[what_if.kind].format(about=what_if.about)
    say(f"The budget {name} is {amount(what_if.budget, shop)}; {amount(what_if.used, shop)} of it is used.")
    if what_if.better_from is not None and what_if.better_total is not None:
        gain = answer.cheapest.total - what_if.better_total
        say(
            f"  From {amount(what_if.better_from, shop)} on the whole comes to {amount(what_if.better_total, shop)},"
            f" {amount(gain, shop)} less."
        )
    if what_if.total_without is not None:
        same = what_if.total_without == answer.cheapest.total
        told = "the same" if same else amount(what_if.total_without, shop)
        say(f"  Without this budget the whole comes to {told}.")
    if what_if.used > 0:
        below = what_if.total_below
        told = "no way was found" if below is None else f"the whole comes to {amount(below, shop)}"
        say(f"  With less than is used, {told}.")
