"""When a warranty ends."""

from __future__ import annotations

from calendar import monthrange
from datetime import date

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion

MONTH_END = "the same day of a later month; where that month is shorter, its last day"
"""The rule for ends of months. ISO 8601 leaves it open, so it is stated wherever an end is shown."""


def add_months(day: date, months: int) -> date:
    """Give the same day of a later month; where that month is shorter, its last day.

    Raises: MalformedQuestion past the year 9999.

    Example:
        >>> add_months(date(2024, 1, 31), 1)
        datetime.date(2024, 2, 29)
    """
    later, month = divmod(day.month - 1 + months, 12)
    year = day.year + later
    if year > date.max.year:
        raise MalformedQuestion("months", "the warranty ends after the year 9999", "give fewer months")
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def read_day(written: str) -> date:
    """Read a day written as 2027-05-31.

    Raises: MalformedQuestion for anything else.
    """
    try:
        day = date.fromisoformat(written)
    except ValueError:
        day = None
    if day is None or day.isoformat() != written:
        raise MalformedQuestion("start", "start is no day", "write it as 2027-05-31")
    return day


def warranty_end(start: str, months: int) -> str:
    """Last day on which a warranty holds.

    Args:
        start: Day of the visit, such as 2027-05-31.
        months: Length of the warranty.

    Returns: The last day, itself included.

    Equation: the same day of a later month; where that month is shorter, its last day.
    Validity: what the maker's sheet promises, from the day of fitting; statutory rights are local law.
    Source: ISO 8601 leaves ends of months open; the rule is this project's.

    Example:
        >>> warranty_end("2024-02-29", 24)
        '2026-02-28'
    """
    return add_months(read_day(start), months).isoformat()


CALCULATIONS = (
    Calculation(
        id="warranty_end",
        title="Last day on which a warranty holds",
        topic="dates",
        function=warranty_end,
        inputs=(
            Input(name="start", unit="date", meaning="day of the visit, such as 2027-05-31", kind="word"),
            Input(name="months", unit="1", meaning="length in months", kind="whole", least=0, most=1200),
        ),
        output=Output(name="last_day", unit="date", meaning="last day, itself included"),
        equation=MONTH_END,
        validity="from the day of fitting; statutory rights are local law",
        source="ISO 8601 leaves ends of months open; the rule is this project's",
        cautions=("estimate", "paid_work"),
    ),
)
