"""Why each part comes when it does, as tables for the salesperson."""

from __future__ import annotations

from rules.catalog.catalog import Catalog
from rules.why import Reasons
from service.shapes.placement import placements_told
from service.terminal.output import amount, plan_words, show_table


def tell_reasons(reasons: Reasons, catalog: Catalog) -> None:
    """Tell of each part why it is bought and why then; and of what was not bought, what it would cost more."""
    words = plan_words(catalog)
    rows = [
        (
            str(reasons.plan.visits[reason.visit - 1].on),
            placements_told([reason.part], catalog)[0].name,
            words.why(reason),
            "\n".join(words.moved(x, reasons) for x in reason.moved),
            amount(reason.kept, catalog.shop),
        )
        for reason in reasons.purchases
    ]
    if rows:
        columns = ("visit", "part", "why", "at another visit", "stays of its price")
        show_table("Why each part, and why then", columns, rows, money=1)
    _tell_not_bought(reasons, catalog)


def _tell_not_bought(reasons: Reasons, catalog: Catalog) -> None:
    shop = catalog.shop
    rows = [
        (
            told.name,
            told.place_name,
            "no way" if choice.dearer_by is None else amount(choice.dearer_by, shop),
        )
        for choice in reasons.not_bought
        for told in placements_told([choice.part], catalog)
    ]
    if rows:
        show_table("What else would do, and what it comes to more", ("part", "where", "more"), rows, money=1)
