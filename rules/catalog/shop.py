"""The shop itself: its name, currency and tax."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from rules.catalog.entry import Entry, NotNegative, Text
from rules.catalog.price import Currency


class Shop(Entry):
    """shop.yaml. `decimals` is the currency's exponent in ISO 4217."""

    name: Text
    currency: Currency
    decimals: Annotated[int, Field(ge=0, le=4)]
    tax_percent: NotNegative
