"""Tables of what a catalog holds: to be edited elsewhere, and imported again."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping

from rules.catalog.catalog import Catalog
from service.authoring.import_prices import COLUMNS, money
from service.authoring.part_table import columns_of, in_order
from service.authoring.places_of import known


def export_prices(catalog: Catalog, price_list: str) -> str:
    """Give a price list as a table, in order of part.

    Raises:
        CannotWrite: There is no such list.
    """
    lists = {one.price_list: one for one in catalog.price_lists}
    known(price_list, lists, "price list")
    found, shop = lists[price_list], catalog.shop
    rows = [
        {
            "part": part,
            "price": money(found.prices[part], shop) if part in found.prices else "",
            "resale": money(found.resale[part], shop) if part in found.resale else "",
        }
        for part in sorted({*found.prices, *found.resale})
    ]
    return _written(COLUMNS, rows)


def export_parts(catalog: Catalog, line: str) -> str:
    """Give a line of parts as a table, in order of id. Plugs, links and channels are not in it.

    Raises:
        CannotWrite: There is no such line.
    """
    known(line, catalog.lines.values(), "part line")
    rows = columns_of([part for part in catalog.parts.values() if catalog.lines[part.id] == line])
    return _written(in_order(list({column for row in rows for column in row})), rows)


def _written(columns: Iterable[str], rows: Iterable[Mapping[str, str]]) -> str:
    text = io.StringIO()
    writer = csv.DictWriter(text, list(columns), restval="", lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()
