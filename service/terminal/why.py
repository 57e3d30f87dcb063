"""Why each part comes when it does, as tables for the salesperson."""

from __future__ import annotations

from rules.catalog.catalog import Catalog
from rules.why import Moved, Reason, Reasons
from service.shapes.placement import placements_told
from service.shapes.work import name_of
from service.terminal.output import amount, show_table

_IN_THE_WAY = {
    "too_late": "too late",
    "not_valid": "would not work",
    "not_for_sale": "not for sale",
    "not_at_home": "not work for home",
}


def tell_reasons(reasons: Reasons, catalog: Catalog) -> None:
    """Tell of each part why it is bought and why then; and of what was not bought, what it would cost more."""
    rows = [
        (
            str(reasons.plan.visits[reason.visit - 1].on),
            placements_told([reason.part], catalog)[0].name,
            _why(reason, catalog),
            "\n".join(_moved(x, reasons, catalog) for x in reason.moved),
            amount(reason.kept, catalog.shop),
        )
        for reason in reasons.purchases
    ]
    if rows:
        columns = ("visit", "part", "why", "at another visit", "stays of its price")
        show_table("Why each part, and why then", columns, rows, money=1)
    _tell_not_bought(reasons, catalog)


def _why(reason: Reason, catalog: Catalog) -> str:
    by = dict.fromkeys(x.name for need in reason.needed for x in placements_told(need.by, catalog))
    told = ["asked for"] if reason.wanted else []
    told += [f"needed by {', '.join(by)}"] if by else []
    told += [f"in a set: {name_of(reason.bundle, catalog)}"] if reason.bundle else []
    return "; ".join(told)


def _moved(moved: Moved, reasons: Reasons, catalog: Catalog) -> str:
    shop, on = catalog.shop, reasons.plan.visits[moved.visit - 1].on
    if moved.outcome in _IN_THE_WAY:
        return f"{on}: {_IN_THE_WAY[moved.outcome]}"
    if moved.outcome == "over_budget":
        return f"{on}: {amount(moved.short or 0, shop)} over a budget"
    word = {"dearer": "dearer", "cheaper": "less"}.get(moved.outcome)
    return f"{on}: {amount(abs(moved.by or 0), shop)} {word}" if word else f"{on}: the same"


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
