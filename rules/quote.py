"""The foot of a quote: what is to pay, what is got back, and the tax that it holds."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.currency import CURRENCY, minor_units, written_amount
from rules.money import Line, labour_price, tax_within, total


@dataclass(frozen=True, slots=True, kw_only=True)
class Totals:
    """Sums of a quote [minor units].

    Attributes:
        to_pay: Everything but resale, tax included.
        resale: What the shop pays for used parts; zero or more.
        due: To pay, less resale.
        tax: Contained in what is to pay: the sum of each line's tax, rounded half up line by line. Used parts bought
            from a rider hold none.
        net: To pay, less tax.
    """

    to_pay: int
    resale: int
    due: int
    tax: int
    net: int


def totals(lines: Iterable[Line], tax_percent: float) -> Totals:
    """Add up a quote; every figure is a sum over its lines, never rounded again.

    Example:
        >>> found = totals((Line(kind="part", about="fulmar", total=12000), Line(kind="resale", about="gannet", total=-500)), 20)
        >>> found.to_pay, found.resale, found.due, found.tax
        (12000, 500, 11500, 2000)
    """
    held = tuple(lines)
    sold = tuple(x for x in held if x.kind != "resale")
    to_pay, due = total(sold), total(held)
    tax = sum(tax_within(x.total, tax_percent) for x in sold)
    return Totals(to_pay=to_pay, resale=to_pay - due, due=due, tax=tax, net=to_pay - tax)


@dataclass(frozen=True, slots=True, kw_only=True)
class LinePrice:
    """A line's price with tax, the tax in it, and the price without, as written in its currency."""

    price: str
    tax: str
    net: str


def part_line(amount: str, pieces: int, tax_percent: float, currency: str) -> LinePrice:
    """Price of a line of parts, and the tax that it holds.

    Args:
        amount: Of one piece, tax included, such as 129.90.
        pieces: How many.
        tax_percent: Rate of the tax that is included [%].
        currency: Code of ISO 4217.

    Equation: pieces x amount; tax = gross x rate / (100 + rate), rounded half up once.
    Source: arithmetic; which rate applies is local law.

    Example:
        >>> part_line("120.00", 2, 20, "EUR")
        LinePrice(price='240.00', tax='40.00', net='200.00')
    """
    return _priced(minor_units(amount, currency) * pieces, tax_percent, currency)


def labour_line(minutes: int, amount: str, tax_percent: float, currency: str) -> LinePrice:
    """Price of a line of labour, and the tax that it holds.

    Args:
        minutes: Whole minutes.
        amount: Rate an hour, tax included, such as 95.00.
        tax_percent: Rate of the tax that is included [%].
        currency: Code of ISO 4217.

    Equation: minutes x rate / 60, rounded half up once.
    Source: arithmetic.

    Example:
        >>> labour_line(90, "95.00", 24, "EUR").price
        '142.50'
    """
    return _priced(labour_price(minutes, minor_units(amount, currency)), tax_percent, currency)


def _priced(gross: int, tax_percent: float, currency: str) -> LinePrice:
    tax = tax_within(gross, tax_percent)
    return LinePrice(
        price=written_amount(gross, currency),
        tax=written_amount(tax, currency),
        net=written_amount(gross - tax, currency),
    )


TAX = Input(
    name="tax_percent", unit="%", meaning="rate of the tax that is included", least=0, most=100, default=0
)
PRICES = (
    Output(name="price", unit="currency", meaning="of the line, tax included"),
    Output(name="tax", unit="currency", meaning="contained in it"),
    Output(name="net", unit="currency", meaning="without it"),
)
MONEY = ("estimate", "paid_work")

CALCULATIONS = (
    Calculation(
        id="part_line",
        title="Price of a line of parts",
        topic="money",
        function=part_line,
        inputs=(
            Input(name="amount", unit="currency", meaning="of one piece, such as 129.90", kind="word"),
            Input(name="pieces", unit="1", meaning="how many", kind="whole", least=1, most=10_000, default=1),
            TAX,
            CURRENCY,
        ),
        output=PRICES[0],
        others=PRICES[1:],
        equation="pieces x amount; tax = gross x rate / (100 + rate), rounded half up once",
        validity="prices that include tax; which rate applies is local law",
        source="arithmetic",
        cautions=MONEY,
    ),
    Calculation(
        id="labour_line",
        title="Price of a line of labour",
        topic="money",
        function=labour_line,
        inputs=(
            Input(name="minutes", unit="min", meaning="of work", kind="whole", least=0, most=100_000),
            Input(name="amount", unit="currency/h", meaning="rate an hour, such as 95.00", kind="word"),
            TAX,
            CURRENCY,
        ),
        output=PRICES[0],
        others=PRICES[1:],
        equation="minutes x rate / 60, rounded half up once",
        validity="whole minutes; rates that include tax",
        source="arithmetic",
        cautions=MONEY,
    ),
)
