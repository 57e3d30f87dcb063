"""What a page's address asks: a whole question in `q`, with the fields of the form laid over it."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any
from urllib.parse import parse_qsl, urlencode

from pydantic import ValidationError

from rules.catalog.shop import Shop
from rules.errors import MalformedQuestion
from rules.question import PathQuestion
from service.desk import words
from service.plans.form import question_asked, read_question

MOST_VISITS = 6
LONGEST = 200
DIGITS = 9
_YEAR = re.compile(r"year:([0-9]{4})", re.ASCII)


class Fields:
    """Fields of a form, as they came; one may come more than once.

    Example:
        >>> Fields([("budget", "300"), ("budget", "")]).all("budget")
        ('300', '')
    """

    def __init__(self, pairs: Sequence[tuple[str, str]]) -> None:
        self.pairs = tuple(pairs)

    @classmethod
    def of_query(cls, query: str) -> Fields:
        """Read what stands behind the question mark, or the body of a form."""
        return cls(parse_qsl(query, keep_blank_values=True, max_num_fields=400))

    def all(self, name: str) -> tuple[str, ...]:
        """Give all of a name, in order, without spaces around."""
        return tuple(value.strip() for key, value in self.pairs if key == name)

    def one(self, name: str, otherwise: str = "") -> str:
        """Give the first of a name."""
        return next(iter(self.all(name)), otherwise)

    def nth(self, name: str, at: int) -> str:
        """Give one of a name by its place among them, counted from 0; nothing if it did not come."""
        return dict(enumerate(self.all(name))).get(at, "")

    def short(self, name: str) -> str:
        """Give the first of a name, no longer than a name or a number of anything is."""
        return self.one(name)[:LONGEST]

    def count(self, name: str, otherwise: int = 0) -> int:
        """Give a whole number; what is none, or is too large to count anything here, is the other one."""
        told = self.one(name)
        return int(told) if told.isascii() and told.isdecimal() and len(told) <= DIGITS else otherwise

    @property
    def years(self) -> dict[int, str]:
        """Give the most for each calendar year, as it was typed."""
        told = ((_YEAR.fullmatch(key), value.strip()) for key, value in self.pairs)
        return {int(found[1]): value for found, value in told if found}

    def has(self, name: str) -> bool:
        """Tell whether a field came, empty or not."""
        return any(key == name for key, _ in self.pairs)


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One visit as it stands in the form."""

    on: str
    fitter: str
    budget: str


def minor_of(text: str, shop: Shop, field: str) -> int | None:
    """Read money as a person writes it: 300, 1 200.50 or 1.200,50; nothing for an empty field.

    Raises:
        MalformedQuestion: It is no amount.

    Example:
        >>> minor_of("1 200,5", Shop(name="s", currency="EUR", decimals=2, tax_percent=24), "budget")
        120050
    """
    told = "".join(text.split()).replace("\u202f", "")
    if not told:
        return None
    *wholes, last = told.replace(",", ".").split(".")
    cents = bool(wholes) and len(last) <= shop.decimals
    written = f"{''.join(wholes)}.{last}" if cents else "".join((*wholes, last))
    try:
        amount = Decimal(written)
    except InvalidOperation:
        amount = Decimal(-1)
    if not (amount.is_finite() and 0 <= amount < 10**8):
        raise MalformedQuestion(field, "an amount is no number", "write it like 1200 or 1200.50")
    return int(amount.scaleb(shop.decimals).to_integral_value())


def day_of(text: str, field: str) -> date:
    """Read a day as a browser sends it.

    Raises:
        MalformedQuestion: It is no day.
    """
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise MalformedQuestion(field, "a day is no date", "write it like 2027-04-05") from error


def question_in(fields: Fields, shop: Shop) -> PathQuestion:
    """Read the question of a page: `q`, and over it the visits and budgets of the form.

    Raises:
        MalformedQuestion: A field cannot be read, or they do not go together.
    """
    try:
        asked = dict(json.loads(fields.one("q")))
        if fields.has("on"):
            asked["visits"] = visits_in(fields, shop)
        if fields.has("whole"):
            asked["budget_minor"] = minor_of(fields.one("whole"), shop, "whole")
        if fields.years:
            asked["year_budgets"] = years_in(fields, shop)
        if fields.has("resale_shown"):
            asked["resale_counts"] = fields.has("resale_counts")
        return read_question(asked)
    except (ValueError, TypeError, RecursionError, ValidationError) as error:
        raise MalformedQuestion(
            "q", "the address does not hold a whole question", "begin again from the bike"
        ) from error


def read(asked: dict[str, Any]) -> PathQuestion:
    """Read a question that was put together from fields.

    Raises:
        MalformedQuestion: A field holds what no question can.
    """
    try:
        return read_question(asked)
    except ValidationError as error:
        raise MalformedQuestion(
            "q", "a field holds what cannot be asked", "go back and look at what was written there"
        ) from error


def visits_in(fields: Fields, shop: Shop) -> list[dict[str, object]]:
    """Read the rows of visits; a row without a day is no visit."""
    rows = rows_in(fields)
    found: list[dict[str, object]] = []
    for row in rows:
        if row.on:
            stage: dict[str, object] = {
                "on": day_of(row.on, "on").isoformat(),
                "fitter": row.fitter or "shop",
            }
            budget = minor_of(row.budget, shop, "budget")
            found.append(stage if budget is None else {**stage, "budget_minor": budget})
    days = [str(x["on"]) for x in found]
    if not found or days != sorted(set(days)):
        raise MalformedQuestion(
            "on", "the visits are not in order", "give each visit a later day than the one before"
        )
    return found


def years_in(fields: Fields, shop: Shop) -> list[dict[str, int]]:
    """Read the most for each calendar year; an empty field is no limit.

    Raises:
        MalformedQuestion: It is no amount.
    """
    read = {year: minor_of(told, shop, "year") for year, told in fields.years.items()}
    return [{"year": year, "budget_minor": most} for year, most in read.items() if most is not None]


def rows_in(fields: Fields) -> tuple[Row, ...]:
    """Give the rows as they were typed."""
    days, fitters, budgets = (fields.all(x) for x in ("on", "fitter", "budget"))
    return tuple(
        Row(
            on=day,
            fitter=fitters[at] if at < len(fitters) else "shop",
            budget=budgets[at] if at < len(budgets) else "",
        )
        for at, day in enumerate(days[:MOST_VISITS])
    )


def asked_of(question: PathQuestion, shop: Shop) -> dict[str, object]:
    """Give the visits and amounts of a question as they stand in a form, with room for one visit more."""
    rows = [
        Row(on=x.on.isoformat(), fitter=x.fitter, budget=words.plain_money(x.budget, shop))
        for x in question.stages
    ]
    years = {x.on.year for x in question.stages} | set(question.year_budgets)
    return {
        "rows": [*rows, Row(on="", fitter="shop", budget="")][:MOST_VISITS],
        "whole": words.plain_money(question.budget, shop),
        "years": [(x, words.plain_money(question.year_budgets.get(x), shop)) for x in sorted(years)],
    }


def written(question: PathQuestion) -> str:
    """Write a question for an address. Who measured something, and the photo of it, stay out: addresses are written to logs."""
    asked = question_asked(question)
    measured = asked.get("found", {}).get("measured", [])
    for fact in measured:
        fact.pop("by", None)
        fact.pop("photo", None)
    return json.dumps(asked, separators=(",", ":"), ensure_ascii=False)


def address(path: str, question: PathQuestion, **more: object) -> str:
    """Give the address of a page about a question."""
    return f"{path}?{urlencode({'q': written(question), **more})}"
