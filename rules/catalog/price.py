"""Dated price lists."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from rules.catalog.entry import Day, Entry, Id, Money

Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]


class PriceList(Entry):
    """One price list: a file in prices/. All money is tax-inclusive, in minor units.

    `prices` gives what a part costs, `resale` what the shop pays for a used one (none: zero). A part without a price is
    not sold while the list is in force.
    """

    price_list: Id
    first: Day
    last: Day
    labour_per_hour: Money
    freight: Money
    prices: dict[Id, Money] = Field(min_length=1)
    resale: dict[Id, Money] = Field(default_factory=dict)

    @model_validator(mode="after")
    def _ends_in_order(self) -> PriceList:
        if self.last < self.first:
            raise PydanticCustomError("days_reversed", "the last day comes before the first")
        return self
