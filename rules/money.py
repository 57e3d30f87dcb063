"""Money lines: whole minor units of the shop's currency, tax included."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

LineKind = Literal["part", "bundle", "labour", "preset", "freight", "resale"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of a quote. `total` is in minor units; resale is negative.

    `about` is the part, operation or service; `of` the placement or amplifier that it is for, where there is one.
    `quantity` counts pieces, or minutes for labour. `assumed`: the price of the last list was carried past its end.
    """

    kind: LineKind
    about: str
    of: str = ""
    quantity: int = 1
    total: int
    assumed: bool = False


def labour_price(minutes: int, per_hour: int) -> int:
    """Price a labour line: minutes x rate / 60, rounded half up once.

    Args:
        minutes: Zero or more.
        per_hour: Rate [minor units an hour].

    Returns: Minor units.

    Example:
        >>> labour_price(25, 6850)
        2854
        >>> labour_price(1, 30)
        1
    """
    return (2 * minutes * per_hour + 60) // 120


def total(lines: Iterable[Line]) -> int:
    """Sum the lines; a total is never rounded again."""
    return sum(line.total for line in lines)


def tax_within(gross: int, percent: float) -> int:
    """Give the tax contained in a tax-inclusive amount, for display: gross x rate / (100 + rate), rounded half up.

    Example:
        >>> tax_within(12000, 20)
        2000
    """
    rate = round(percent * 1000)
    return (2 * gross * rate + (100_000 + rate)) // (2 * (100_000 + rate))
