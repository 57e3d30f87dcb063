"""Dated price lists with a trend for every part, and what used parts fetch."""

from __future__ import annotations

from datetime import date, timedelta
from random import Random

from rules.catalog.part import Part
from rules.catalog.price import PriceList

FIRST = date(2030, 1, 1)
MONTHS_DAYS = 182
"""A list holds for about half a year."""

_USUAL = {
    "adapter": 2_400,
    "amplifier": 36_000,
    "carrier": 24_000,
    "control_interface": 8_200,
    "flash": 6_900,
    "harness": 9_400,
    "head_unit": 62_000,
    "power_kit": 6_100,
    "preset": 6_200,
    "ring": 1_900,
    "speaker": 19_500,
}
_TRENDS = {"steady": (1.0, 1.0), "rising": (1.02, 1.12), "falling": (0.8, 0.95), "any": (0.85, 1.12)}
_FETCH = {"speaker": 0.7, "amplifier": 0.7, "head_unit": 0.8, "carrier": 0.4}
"""The chance that the shop takes a used one."""


def story_prices(
    rng: Random, parts: dict[str, Part], factors: dict[str, float], lists: int
) -> tuple[PriceList, ...]:
    """Draw price lists in a row; `factors` makes single parts dear or cheap against what is usual for their kind."""
    singles = [part for part in parts.values() if not part.members and not part.stock_only]
    prices = {part.id: _about(rng, _base(part) * factors.get(part.id, 1.0), 0.8, 1.25) for part in singles}
    trends = {part.id: rng.choice(["steady", "rising", "rising", "falling", "any"]) for part in singles}
    fetch = {
        part.id: rng.uniform(0.15, 0.65)
        for part in parts.values()
        if not part.members and rng.random() < _FETCH.get(part.kind, 0.05)
    }
    rebate = {part.id: rng.uniform(0.6, 0.9) for part in parts.values() if part.members}
    began, rate, drawn = dict(prices), rng.choice([6_000, 6_850, 7_790]), []
    for number in range(lists):
        first = FIRST + timedelta(days=number * MONTHS_DAYS)
        whole = {
            name: int(sum(prices[member] for member in parts[name].members) * share)
            for name, share in rebate.items()
        }
        drawn.append(
            PriceList(
                price_list=f"list-{number}",
                first=first,
                last=first + timedelta(days=MONTHS_DAYS - 1),
                labour_per_hour=rate,
                freight=rng.choice([900, 1_450]),
                prices=dict(sorted((_with_offers(rng, prices) | whole).items())),
                # Less than it ever cost before, so that nobody buys to sell.
                resale={
                    name: int(min(began.get(name, 16_000), prices.get(name, 16_000)) * share * 0.97**number)
                    for name, share in sorted(fetch.items())
                },
            )
        )
        prices = {name: _about(rng, price, *_TRENDS[trends[name]]) for name, price in prices.items()}
        rate += rng.choice([0, 0, 300])
    return tuple(drawn)


def _with_offers(rng: Random, prices: dict[str, int]) -> dict[str, int]:
    """Let a few parts be cheaper while one list holds."""
    return {
        name: int(price * rng.uniform(0.72, 0.9)) if rng.random() < 0.08 else price
        for name, price in prices.items()
    }


def _base(part: Part) -> float:
    if part.kind == "amplifier":
        return 14_000.0 + 7_000.0 * len([one for one in part.channels if not one.bridges])
    if part.kind == "harness":
        return 1_900.0 * (len(part.connectors) - 1)
    return float(_USUAL[part.kind])


def _about(rng: Random, price: float, least: float, most: float) -> int:
    return max(1, int(price * rng.uniform(least, most)))
