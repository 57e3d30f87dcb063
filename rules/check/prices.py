"""Price lists follow one another without gap or overlap, and price what is sold."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

from rules.check.context import Context
from rules.check.ids import UNKNOWN_PART
from rules.diagnostics import Code, quote

PRICE_GAP = Code(
    name="price-gap",
    about="Days between two price lists on which none is in force.",
    why="nothing could be sold on these days",
    hint="let one list begin on the day after the other ends",
    example="last: 2025-12-31, and then first: 2026-02-01",
)
PRICE_OVERLAP = Code(
    name="price-overlap",
    about="Two price lists in force on the same day.",
    why="a part would have two prices",
    hint="let one list end on the day before the other begins",
    example="last: 2026-01-31, and then first: 2026-01-01",
)
NEVER_PRICED = Code(
    name="never-priced",
    about="A part that is in no price list and in no bundle, and is not marked as fitted at the works only.",
    why="it could never be sold, so it is probably forgotten",
    hint="price it, or write `stock_only: true`",
    example="a new part that no file in prices/ names",
    severity="warning",
)

CODES = (PRICE_GAP, PRICE_OVERLAP, NEVER_PRICED)


def check_prices(context: Context) -> None:
    """Report every fault of the price lists."""
    _check_spans(context)
    _check_parts(context)
    if context.draft.price_lists and context.is_whole("prices", "parts"):
        _check_all_priced(context)


def _check_spans(context: Context) -> None:
    lists = sorted(context.draft.price_lists, key=lambda item: (item.what.first, item.what.price_list))
    for one, other in pairwise(lists):
        if other.what.first <= one.what.last:
            message = f"this list begins before the one that ends at {one.at('last').place} is over"
            context.report(PRICE_OVERLAP, other.at("first"), message)
        elif other.what.first > one.what.last + timedelta(days=1) and context.is_whole("prices"):
            between = f"{one.what.last} ({one.at('last').place}) and {other.what.first}"
            context.report(PRICE_GAP, other.at("first"), f"no list is in force between {between}")


def _check_parts(context: Context) -> None:
    for item in context.draft.price_lists:
        who = f"price list {quote(item.what.price_list)}"
        for key, prices in (("prices", item.what.prices), ("resale", item.what.resale)):
            for part in prices:
                context.name(UNKNOWN_PART, "part", part, item.where_key(key, part), who)


def _check_all_priced(context: Context) -> None:
    sold = {part for item in context.draft.price_lists for part in item.what.prices}
    sold |= {member for part in context.parts.values() for member in part.members}
    for part in context.draft.parts:
        if part.what.id not in sold and not part.what.stock_only:
            message = f"part {quote(part.what.id)} is in no price list"
            context.report(NEVER_PRICED, part.at("id"), message)
