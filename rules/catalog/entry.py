"""What every entry of a catalog file has in common: frozen, no unknown keys, no silent conversions."""

from __future__ import annotations

import re
from contextlib import suppress
from datetime import date
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, Strict
from pydantic_core import PydanticCustomError

Text = Annotated[str, Strict(), Field(min_length=1, max_length=2_000)]
Id = Annotated[str, Strict(), Field(pattern=r"^[a-z0-9]+([_-][a-z0-9]+)*$", max_length=80)]
Flag = Annotated[bool, Strict()]
Whole = Annotated[int, Strict(), Field(ge=-(10**12), le=10**12)]
Count = Annotated[int, Strict(), Field(ge=1, le=1_000)]
Minutes = Annotated[int, Strict(), Field(ge=0, le=10_000)]
Money = Annotated[int, Strict(), Field(ge=0, le=10**10)]
"""Minor units of the shop's currency (cents, for a currency with two decimals)."""
Number = Annotated[float, Field(strict=True, allow_inf_nan=False)]
Positive = Annotated[float, Field(strict=True, allow_inf_nan=False, gt=0)]
NotNegative = Annotated[float, Field(strict=True, allow_inf_nan=False, ge=0)]


_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


def _read_day(raw: object) -> object:
    # pydantic alone would read a number as seconds since 1970, and a time at midnight as a day.
    if isinstance(raw, date):
        return raw
    with suppress(ValueError):
        if isinstance(raw, str) and _DAY.fullmatch(raw):
            return date.fromisoformat(raw)
    raise PydanticCustomError("bad_date", "a day is written 2026-01-31")


Day = Annotated[date, BeforeValidator(_read_day)]


class Entry(BaseModel):
    """Base of all catalog entries.

    Containers are lax (a YAML list fills a tuple); scalars are strict (text is never read as a number).
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
