"""What every entry of a catalog file has in common: frozen, no unknown keys, no silent conversions."""

from __future__ import annotations

from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, Strict

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


class Entry(BaseModel):
    """Base of all catalog entries.

    Containers are lax (a YAML list fills a tuple); scalars are strict (text is never read as a number).
    """

    model_config = ConfigDict(frozen=True, extra="forbid", populate_by_name=True)
