"""Money lines as a table."""

from __future__ import annotations

from collections.abc import Iterable

from rules.catalog.catalog import Catalog
from rules.money import Line
from service.shapes.work import LineTold, lines_told
from service.terminal.output import amount, say, show_table

_KINDS = {
    "part": "part",
    "bundle": "set",
    "labour": "labour",
    "preset": "preset",
    "freight": "freight",
    "resale": "sold on",
}


def work_table(title: str, lines: Iterable[Line], total: int, catalog: Catalog) -> None:
    """Draw lines with their sum, and say which prices were carried on past their list."""
    told = lines_told(lines, catalog)
    rows = [
        (_KINDS[line.kind], _name(line), _quantity(line), amount(line.total_minor, catalog.shop))
        for line in told
    ]
    show_table(
        title,
        ("", "what", "how much", "price"),
        [*rows, ("", "in all", "", amount(total, catalog.shop))],
        money=2,
    )
    if any(line.assumed for line in told):
        say("Some prices are those of the last list, which ends before that day.")


def _name(line: LineTold) -> str:
    # The same work may be done at two places, and would look like a line counted twice.
    what = line.name.removesuffix(".")
    return f"{what} ({line.of.place_name})" if line.of and line.kind == "labour" else what


def _quantity(line: LineTold) -> str:
    return f"{line.minutes} min" if line.minutes is not None else f"{line.pieces}"
