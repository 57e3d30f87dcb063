"""What may be had for one bike on a day, the cheapest first: put in order once, for all questions about the bike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from functools import cached_property

from rules.bench import Bench
from rules.build import Build, Placement, Slot
from rules.plan.master import weight_of
from rules.pricing import Pricer

Choice = tuple[int, int, Placement]
"""What a part costs at least, its own share of the rank, and the part."""


class Offers:
    """Puts parts in the order in which extras are tried, on one bench and day."""

    def __init__(self, bench: Bench, pricer: Pricer, on: date) -> None:
        self.bench = bench
        self.pricer = pricer
        self.on = on
        self._choices: dict[Placement, Choice] = {}
        self._slots: dict[Build, dict[Slot, list[Placement]]] = {}
        self._in_order: dict[tuple[Build, Slot], Sequence[Choice]] = {}

    @classmethod
    def of(cls, bench: Bench, pricer: Pricer, on: date) -> Offers:
        """Give the offers of a day, those that are kept if there are any."""
        return pricer.offers.setdefault(on, cls(bench, pricer, on))

    def by_slot(self, placements: Build) -> Mapping[Slot, Sequence[Placement]]:
        """Give placements slot by slot."""
        if placements not in self._slots:
            found: dict[Slot, list[Placement]] = {}
            for x in placements:
                found.setdefault(self.bench.slot(x), []).append(x)
            self._slots[placements] = found
        return self._slots[placements]

    def in_order(self, placements: Build, slot: Slot) -> Sequence[Choice]:
        """Give what is for sale of these in a slot; of parts that are alike the cheapest."""
        key = placements, slot
        if key not in self._in_order:
            there = self.by_slot(placements)[slot]
            for_sale = (x for x in there if self.pricer.price(x.part, self.on) is not None)
            self._in_order[key] = self.cheapest_alike(sorted(map(self.choice, for_sale)))
        return self._in_order[key]

    def cheapest_alike(self, choices: Iterable[Choice]) -> Sequence[Choice]:
        """Keep the first of all choices that are alike."""
        kept: dict[object, Choice] = {}
        for choice in choices:
            kept.setdefault(self.bench.likeness(choice[-1]), choice)
        return list(kept.values())

    def choice(self, placed: Placement) -> Choice:
        """Give what a part costs at least, with its place in the order; nothing where it is not for sale."""
        if placed not in self._choices:
            least = self._least_prices.get(placed.part)
            if least is None:
                price = self.pricer.price(placed.part, self.on)
                least = 0 if price is None else price.amount
            self._choices[placed] = least, weight_of(placed, 1), placed
        return self._choices[placed]

    @cached_property
    def _least_prices(self) -> Mapping[str, int]:
        """Give what each part of a bundle costs at least: no more than its share of any, so that shares never exceed a price."""
        pricer, parts = self.pricer, self.bench.tables.catalog.parts
        found: dict[str, int] = {}
        for name in self.bench.tables.bundles:
            price, members = pricer.price(name, self.on), parts[name].members
            if price is None:
                continue
            singles = {x: one.amount if (one := pricer.price(x, self.on)) else 0 for x in members}
            whole = sum(singles[x] for x in members)
            for x, single in singles.items():
                share = min(single, single * price.amount // whole) if whole else 0
                found[x] = min(share, found.get(x, share))
        return found
