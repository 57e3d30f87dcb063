"""How days, money and figures are written on pages and papers."""

from __future__ import annotations

from datetime import date

from rules.catalog.catalog import Bike
from rules.catalog.shop import Shop

MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)


def day(on: date | None) -> str:
    """Write a day so that no two countries read it differently.

    Example:
        >>> day(date(2026, 5, 4))
        '4 May 2026'
    """
    return "" if on is None else f"{on.day} {MONTHS[on.month - 1]} {on.year}"


def money(minor: int | None, shop: Shop) -> str:
    """Write money; nothing where nobody knows it.

    Example:
        >>> money(-129005, Shop(name="s", currency="EUR", decimals=2, tax_percent=24))
        '−1\u202f290.05'
    """
    if minor is None:
        return ""
    whole, rest = divmod(abs(minor), 10**shop.decimals)
    cents = f".{rest:0{shop.decimals}d}" if shop.decimals else ""
    return f"{'−' if minor < 0 else ''}{whole:,}".replace(",", "\u202f") + cents


def plain_money(minor: int | None, shop: Shop) -> str:
    """Write money as a person types it into a field.

    Example:
        >>> plain_money(30000, Shop(name="s", currency="EUR", decimals=2, tax_percent=24))
        '300'
    """
    if minor is None:
        return ""
    whole, rest = divmod(minor, 10**shop.decimals)
    return f"{whole}.{rest:0{shop.decimals}d}" if rest else str(whole)


def sentence(text: str) -> str:
    """End with a full stop."""
    told = text.strip()
    return told if not told or told[-1] in ".?!" else f"{told}."


def capital(text: str) -> str:
    """Begin with a capital letter, and leave the rest as it is."""
    return text[:1].upper() + text[1:]


def number(value: float | None) -> str:
    """Write a figure with no more digits than anybody reads.

    Example:
        >>> number(4.0), number(13.42), number(1600)
        ('4', '13.4', '1600')
    """
    if value is None:
        return ""
    return f"{value:.0f}" if abs(value) >= 100 or value == round(value) else f"{value:.3g}"  # noqa: PLR2004 -- three digits that count


def bike_name(bike: Bike) -> str:
    """Name a bike so that it is no other: its name says family and trim, and the side of a split."""
    return f"{bike.name}, {bike.year}"


def full_name(bike: Bike) -> str:
    """Name a bike with its maker."""
    return f"{bike.maker} {bike_name(bike)}"


def kind_name(kind: str) -> str:
    """Name a kind of part."""
    return kind.replace("_", " ")
