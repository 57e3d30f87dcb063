"""Random dated price lists."""

from __future__ import annotations

from datetime import date
from random import Random

from rules.catalog.part import Part
from rules.catalog.price import PriceList

SPANS = (
    (date(2030, 1, 1), date(2030, 8, 31)),
    (date(2030, 9, 1), date(2031, 4, 30)),
    (date(2031, 5, 1), date(2031, 12, 31)),
)

_USUAL = {
    "amplifier": 42_000,
    "head_unit": 61_000,
    "speaker": 19_000,
    "harness": 8_700,
    "power_kit": 6_400,
    "preset": 9_100,
    "flash": 7_300,
}


def draw_prices(rng: Random, parts: dict[str, Part], unpriced: float) -> tuple[PriceList, ...]:
    """Draw one to three lists: some prices change, some parts are missing, few fetch something used."""
    lists, base = (
        [],
        {part.id: _about(rng, _USUAL.get(part.kind, 3_100)) for part in parts.values() if not part.members},
    )
    for number, (first, last) in enumerate(SPANS[: rng.choice([1, 2, 3])]):
        prices = {name: price for name, price in base.items() if rng.random() >= unpriced}
        prices = {name: price for name, price in prices.items() if not parts[name].stock_only}
        prices |= {part.id: _bundle_price(rng, part, base) for part in parts.values() if part.members}
        lists.append(
            PriceList(
                price_list=f"list-{number}",
                first=first,
                last=last,
                labour_per_hour=rng.choice([6_000, 6_850, 7_790]),
                freight=rng.choice([0, 900, 1_450]),
                prices=dict(sorted(prices.items())) or {"nothing": 1},
                resale={name: rng.randrange(100, base[name]) for name in sorted(base) if rng.random() < 0.2},
            )
        )
        base = {name: price if rng.random() < 0.5 else _about(rng, price) for name, price in base.items()}
    return tuple(lists)


def _about(rng: Random, price: int) -> int:
    return max(1, int(price * rng.uniform(0.6, 1.5)))


def _bundle_price(rng: Random, part: Part, base: dict[str, int]) -> int:
    return int(sum(base.get(member, 0) for member in part.members) * rng.uniform(0.55, 1.05))
