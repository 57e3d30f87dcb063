"""What ends soon, or is over: price lists, parts that are sold for a time, and holds."""

from __future__ import annotations

from datetime import date, timedelta

from rules.catalog.rule import Hold
from rules.diagnostics import Span, quote
from rules.survey.codes import ENDS_SOON, IS_OVER
from rules.survey.ground import Ground

SOON = timedelta(days=60)


def check_ends(ground: Ground) -> None:
    """Report what ends within sixty days of the day, and what is over."""
    _check_prices(ground)
    for part in ground.draft.parts:
        if part.what.available is not None and not part.what.stock_only:
            span = part.at("available", "last")
            who = f"part {quote(part.what.id)} is sold until"
            _report(ground, span, part.what.available.last, who, over=False)
    for rule in ground.draft.rules:
        if isinstance(rule.what, Hold) and rule.what.last is not None:
            span = rule.at("last")
            _report(ground, span, rule.what.last, f"hold {quote(rule.what.id)} lasts until", over=True)


def _check_prices(ground: Ground) -> None:
    lists = sorted(ground.draft.price_lists, key=lambda item: item.what.last)
    for item in lists[-1:]:
        who = f"price list {quote(item.what.price_list)}, the last one, is in force until"
        _report(ground, item.at("last"), item.what.last, who, over=True)


def _report(ground: Ground, span: Span, last: date, who: str, *, over: bool) -> None:
    """Report an end that is near, or, if asked for, behind."""
    if last < ground.on:
        if over:
            ground.report(IS_OVER, span, f"{who} {last}, which is past on {ground.on}")
    elif last - ground.on <= SOON:
        ground.report(ENDS_SOON, span, f"{who} {last}")
