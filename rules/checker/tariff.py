"""The prices of one day: the list in force, what is for sale, and what an hour of work costs. All in minor units."""

from __future__ import annotations

from datetime import date

from rules.catalog.part import Part
from rules.catalog.price import PriceList
from rules.checker.world import World


class Tariff:
    """Prices on a day. Before the first list there is none: nothing is for sale, and nothing is charged."""

    def __init__(self, world: World, on: date) -> None:
        self.world = world
        self.on = on
        self.list = _list_on(world.index.catalog.price_lists, on)
        self._prices: dict[str, int | None] = {}

    @property
    def assumed(self) -> bool:
        """Tell whether the last list was carried past its end."""
        return self.list is not None and self.on > self.list.last

    def price(self, part: str) -> int | None:
        """Give what a part costs; None if it is not for sale, or there is no such part."""
        if part not in self._prices:
            self._prices[part] = (
                self._price(self.world.part_named(part)) if self.world.is_part(part) else None
            )
        return self._prices[part]

    def _price(self, part: Part) -> int | None:
        if self.list is None or part.stock_only or self.is_on_hold(part):
            return None
        if part.available is not None and not part.available.first <= self.on <= part.available.last:
            return None
        return self.list.prices.get(part.id)

    def is_on_hold(self, part: Part) -> bool:
        """Tell whether a rule stops a part from being sold."""
        return any(
            hold.first <= self.on
            and (hold.last is None or self.on <= hold.last)
            and self.world.index.selects(hold.subject, part)
            for hold in self.world.index.holds
        )

    def single(self, part: str) -> int:
        """Give the single price on the list, for sale or not; zero where there is none."""
        return self.list.prices.get(part, 0) if self.list else 0

    def resale(self, part: str) -> int:
        """Give what the shop pays for a used part."""
        return self.list.resale.get(part, 0) if self.list else 0

    def work(self, minutes: int) -> int:
        """Price work: minutes x rate / 60, rounded half up."""
        return half_up(minutes * self.list.labour_per_hour, 60) if self.list else 0

    @property
    def freight(self) -> int:
        """Give what a parcel to the workshop and back costs."""
        return self.list.freight if self.list else 0

    def bench(self, service: str) -> int:
        """Price a preset service's time at the bench."""
        return self.work(self.bench_minutes(service))

    def bench_minutes(self, service: str) -> int:
        """Give a preset service's time at the bench [min]."""
        preset = self.world.part_named(service).preset
        return preset.minutes if preset else 0

    def service_price(self, service: str) -> int | None:
        """Give what a preset costs with its time at the bench; None if it is not offered."""
        price = self.price(service)
        return None if price is None else price + self.bench(service)

    def services(self, amplifier: str) -> dict[str, int]:
        """Give the preset services that are offered for an amplifier, with what each costs."""
        return {
            name: price
            for name in self.world.index.services.get(amplifier, ())
            if (price := self.service_price(name)) is not None
        }

    def shares(self, bundle: str) -> list[tuple[str, int]]:
        """Share a bundle's price over its members, in proportion to their single prices, each rounded half up."""
        members = self.world.part_named(bundle).members if self.world.is_part(bundle) else ()
        whole = sum(self.single(member) for member in members)
        price = self.price(bundle)
        if price is None or whole == 0:
            return [(member, 0) for member in members]
        return [(member, half_up(price * self.single(member), whole)) for member in members]


def _list_on(lists: tuple[PriceList, ...], on: date) -> PriceList | None:
    for one in lists:
        if one.first <= on <= one.last:
            return one
    last = max(lists, key=lambda one: one.last, default=None)
    return last if last is not None and on > last.last else None


def half_up(amount: int, parts: int) -> int:
    """Divide and round half up.

    Example:
        >>> half_up(5, 2), half_up(4, 3)
        (3, 1)
    """
    return (2 * amount + parts) // (2 * parts)
