"""Words that several questions have in common, as the quick ways read them."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache

FITTERS = ("shop", "home")

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)


@lru_cache(maxsize=1_024)
def read_day(text: str) -> date | None:
    """Read a day as it is written in addresses; None if it is none."""
    try:
        return date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        return None
