"""Other plans and other budgets, as tables for the salesperson."""

from __future__ import annotations

from rules.alternatives import Alternative, Alternatives
from rules.catalog.catalog import Catalog
from service.shapes.placement import placements_told
from service.terminal.output import amount, plan_words, say, show_table


def tell_alternatives(answer: Alternatives, catalog: Catalog) -> None:
    """Tell what else is worth a look, and what another budget would change."""
    if not answer.others:
        say("", "No other plan is better in anything: not in money, visits, or what is there first.")
    for number, other in enumerate(answer.others, 1):
        _tell_other(number, other, catalog)
    words = plan_words(catalog)
    for what_if in answer.what_ifs:
        first, *others = words.what_if(what_if, answer)
        say(first, *(f"  {told}" for told in others))


def _tell_other(number: int, other: Alternative, catalog: Catalog) -> None:
    shop = catalog.shop
    gains = "; ".join(map(plan_words(catalog).better, other.better))
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
