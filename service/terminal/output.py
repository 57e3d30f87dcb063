"""Where the command writes, and how it shows money, sources, tables and JSON."""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Iterable
from functools import partial

from pydantic import BaseModel
from rich import box
from rich.console import Console
from rich.table import Table

from rules.catalog.catalog import Catalog
from rules.catalog.facts import Source
from rules.catalog.shop import Shop
from service.plan_words import PlanWords

WIDEST = 110
"""Columns: wider lines are hard to read, however wide the window is."""


def stdout() -> Console:
    """Give the console for answers."""
    console = Console(highlight=False, markup=False)
    console.width = min(console.width, WIDEST) if console.is_terminal else WIDEST
    return console


def stderr() -> Console:
    """Give the console for faults, hints and progress."""
    return Console(stderr=True, highlight=False, markup=False, soft_wrap=True)


def say(*lines: str) -> None:
    """Write sentences of an answer."""
    console = stdout()
    for line in lines:
        # In a window lines break between words; in a file they are left whole, to be searched.
        told = _broken(line, console.width) if console.is_terminal else line
        console.print(told, soft_wrap=True)


def _broken(line: str, width: int) -> str:
    margin = " " * (len(line) - len(line.lstrip(" -")))
    return textwrap.fill(line, width, subsequent_indent=margin, break_on_hyphens=False)


def hint(*lines: str) -> None:
    """Write what is no answer."""
    for line in lines:
        stderr().print(line)


def say_json(answer: BaseModel | object) -> None:
    """Write an answer for a program: the same bytes as the API, with a line end."""
    text = (
        answer.model_dump_json() if isinstance(answer, BaseModel) else json.dumps(answer, ensure_ascii=False)
    )
    sys.stdout.write(text + "\n")


def plan_words(catalog: Catalog) -> PlanWords:
    """Give the words about plans, with money and days as the command writes them."""
    return PlanWords(catalog=catalog, money=partial(amount, shop=catalog.shop), day=str)


def show_table(title: str, columns: Iterable[str], rows: Iterable[Iterable[str]], *, money: int = 0) -> None:
    """Draw a table.

    Args:
        money: How many of the last columns hold figures, which stand on the right.
    """
    names, lines = list(columns), [list(row) for row in rows]
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for index, name in enumerate(names):
        figures = index >= len(names) - money
        table.add_column(name, justify="right" if figures else "left", no_wrap=figures, vertical="top")
    for line in lines:
        table.add_row(*line)
    say("", *([title] if title else []))
    stdout().print(table)
    say("")


def source_words(source: Source) -> str:
    """Show where a fact comes from."""
    return f"{source.kind.replace('_', ' ')}: {source.ref}, {source.date}"


def amount(minor: int, shop: Shop) -> str:
    """Show money in the shop's currency.

    Example:
        >>> amount(-129005, Shop(name="s", currency="EUR", decimals=2, tax_percent=24))
        '-1,290.05 EUR'
    """
    whole, rest = divmod(abs(minor), 10**shop.decimals)
    cents = f".{rest:0{shop.decimals}d}" if shop.decimals else ""
    return f"{'-' if minor < 0 else ''}{whole:,}{cents} {shop.currency}"
