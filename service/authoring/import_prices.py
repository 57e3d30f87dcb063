"""Prices from a table into a price list: new ones, changed ones; every other letter of the list stays as it is."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from pathlib import Path

import yaml

from rules.catalog.catalog import Catalog
from rules.catalog.shop import Shop
from rules.check.ids import UNKNOWN_PART
from rules.diagnostics import Collector, quote
from rules.nearest import did_you_mean
from service.authoring.csv_table import PRICE_JUMP, TABLE_CELL, Cell, Table, read_table
from service.authoring.emit import Lines, Value, block, key
from service.authoring.places_of import must_lie_in
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import modeline_beside
from service.authoring.sheet import Edit, Sheet

COLUMNS = ("part", "price", "resale")
"""Part, price and resale; money in whole units with decimals, such as 209.00."""

JUMP = 5
"""How many times its last price a price is before it is taken for a slip. Common practice, no source."""

_KEYS = {"price": "prices", "resale": "resale"}
"""Columns with the keys of a price list that they go under."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ListAsked:
    """What a person says of a price list. Rates of a new one that are left out are those of the list before.

    `accept_jumps`: prices that look like a slip of the point are none.
    """

    first: date | None = None
    last: date | None = None
    labour_per_hour: int | None = None
    freight: int | None = None
    accept_jumps: bool = False


@dataclass(frozen=True, slots=True)
class Imported:
    """A proposal, and the cell that each line of it came from, by line from 1."""

    proposal: Proposal
    cells: Mapping[tuple[int, int], Cell]


def import_prices(
    directory: Path, text: str, shown_as: str, into: str, asked: ListAsked, collector: Collector
) -> Imported | None:
    """Propose a price list with the prices of a table.

    Args:
        text: The table.
        shown_as: Its name, for diagnostics.
        into: The list's file in the catalog, such as `prices/2027.yaml`.

    Returns: The proposal, or None if the collector has faults of the table.

    Raises:
        CannotWrite: The file is no price list, or a new one, and its days are not given.
    """
    must_lie_in(into, "prices")
    catalog = neighbours(directory)
    table = read_table(text, shown_as, collector, known=COLUMNS, needed="part")
    amounts = _amounts(table, catalog.shop, collector) if table else {}
    _check_parts(table.rows if table else (), catalog, collector)
    if table and not asked.accept_jumps:
        _check_jumps(table, amounts, catalog, collector)
    if table is None or collector.has_errors:
        return None
    before = read_file(directory, into)
    if before is None:
        head = modeline_beside(directory, into) + block(_new_list(catalog, into, asked, amounts))
        sheet = Sheet(head)
    else:
        sheet = _changed(Sheet(before), amounts)
    proposal = Proposal(name=into, before=before, after=sheet.text)
    return Imported(proposal, dict(_cells(sheet, table)))


def _amounts(table: Table, shop: Shop, collector: Collector) -> dict[str, dict[str, int]]:
    """Read the money of a table: by key of the price list, then by part."""
    found: dict[str, dict[str, int]] = {"prices": {}, "resale": {}}
    for row in table.rows:
        for column, under in _KEYS.items():
            if column in row:
                amount = minor_units(row[column].text, shop)
                if amount is None:
                    message = f"{quote(row[column].text)} is no amount with {shop.decimals} decimals, such as {_example(shop)}"
                    collector.report(TABLE_CELL, row[column].span, message)
                else:
                    found[under][row["part"].text] = amount
    return found


def _check_parts(rows: Iterable[Mapping[str, Cell]], catalog: Catalog, collector: Collector) -> None:
    """Report parts that the catalog does not have, together with all that is wrong with the table itself."""
    for row in rows:
        part = row["part"]
        if part.text not in catalog.parts:
            message = f"this row names part {quote(part.text)}, which is not in the catalog"
            collector.report(UNKNOWN_PART, part.span, message, did_you_mean(part.text, catalog.parts))


def _check_jumps(
    table: Table, amounts: Mapping[str, Mapping[str, int]], catalog: Catalog, collector: Collector
) -> None:
    """Report prices that are far from the last one of their part."""
    for row in table.rows:
        part = row["part"].text
        amount, last = amounts["prices"].get(part), _last_price(catalog, part)
        if amount is not None and last and not last < JUMP * amount < JUMP * JUMP * last:
            was = money(last, catalog.shop)
            message = f"{quote(row['price'].text)} is far from {was}, the last price of {quote(part)}"
            collector.report(PRICE_JUMP, row["price"].span, message)


def _last_price(catalog: Catalog, part: str) -> int | None:
    return next((one.prices[part] for one in reversed(catalog.price_lists) if part in one.prices), None)


def _example(shop: Shop) -> str:
    return money(20900, shop)


def minor_units(text: str, shop: Shop) -> int | None:
    """Read an amount as the smallest unit of money; None if it is none, or finer than the currency.

    Example:
        >>> minor_units("209.00", Shop(name="s", currency="EUR", decimals=2, tax_percent=24))
        20900
    """
    if not re.fullmatch(rf"[0-9]{{1,8}}(?:\.[0-9]{{1,{max(shop.decimals, 1)}}})?", text):
        return None
    amount = Decimal(text).scaleb(shop.decimals)
    return int(amount) if amount == int(amount) else None


def money(amount: int, shop: Shop) -> str:
    """Write an amount [smallest unit of money] as tables have it.

    Example:
        >>> money(5, Shop(name="s", currency="EUR", decimals=2, tax_percent=24))
        '0.05'
    """
    return str(Decimal(amount).scaleb(-shop.decimals))


def _new_list(
    catalog: Catalog, into: str, asked: ListAsked, amounts: Mapping[str, Mapping[str, int]]
) -> dict[str, Value]:
    if asked.first is None or asked.last is None:
        raise CannotWrite(
            f"{into} is a new list: say from when to when it is in force, with --first and --last"
        )
    before = catalog.price_lists[-1] if catalog.price_lists else None
    labour = (
        asked.labour_per_hour
        if before is None or asked.labour_per_hour is not None
        else before.labour_per_hour
    )
    freight = asked.freight if before is None or asked.freight is not None else before.freight
    if labour is None or freight is None:
        raise CannotWrite("the catalog has no list to take rates from: give --labour-per-hour and --freight")
    head: dict[str, Value] = {
        "price_list": Path(into).stem,
        "first": asked.first,
        "last": asked.last,
        "labour_per_hour": labour,
        "freight": freight,
    }
    return head | {under: Lines(found) for under, found in amounts.items() if found}


def _changed(sheet: Sheet, amounts: Mapping[str, Mapping[str, int]]) -> Sheet:
    edits: list[Edit] = []
    missing: dict[str, Value] = {}
    for under, found in amounts.items():
        node = sheet.find(under)
        if node is None:
            missing |= {under: Lines(found)} if found else {}
            continue
        known = (
            {name.value: value for name, value in node.value} if isinstance(node, yaml.MappingNode) else {}
        )
        edits += _replacing(known, found)
        new = {key(part): str(amount) for part, amount in found.items() if part not in known}
        edits += [sheet.adding((under,), new)] if new else []
    edited = sheet.edited(edits)
    ending = "" if edited.text.endswith("\n") else "\n"
    return Sheet(edited.text + ending + block(missing)) if missing else edited


def _replacing(known: Mapping[str, yaml.Node], found: Mapping[str, int]) -> Iterator[Edit]:
    for part, amount in found.items():
        node = known.get(part)
        if node is not None and node.value != str(amount):
            yield Edit(node.start_mark.index, node.end_mark.index, str(amount))


def _cells(sheet: Sheet, table: Table) -> Iterator[tuple[tuple[int, int], Cell]]:
    """Give the cell behind each part and amount of a list, by its line and column from 1."""
    rows = {row["part"].text: row for row in table.rows}
    for column, under in _KEYS.items():
        node = sheet.find(under)
        for name, value in node.value if isinstance(node, yaml.MappingNode) else ():
            row = rows.get(name.value, {})
            if column in row:
                yield _place(name), row["part"]
                yield _place(value), row[column]


def _place(node: yaml.Node) -> tuple[int, int]:
    return node.start_mark.line + 1, node.start_mark.column + 1
