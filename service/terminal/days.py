"""The day that a command asks about."""

from __future__ import annotations

from datetime import date, datetime

from service.settings import read_settings
from service.terminal.mistakes import WrongCommand


def read_day(text: str | None, option: str = "--on") -> date:
    """Read a day, or take today at the shop.

    Raises:
        WrongCommand: It is no day.
    """
    if text is None:
        return datetime.now(read_settings().zone).date()
    try:
        return date.fromisoformat(text)
    except ValueError as error:
        raise WrongCommand(f"{option} takes a day that exists, written 2027-03-31") from error
