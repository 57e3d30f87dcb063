"""What a visit costs: purchases with bundles, labour with shared tear-down, presets, resale."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.facts import Unknown, Value
from rules.catalog.price import PriceList
from rules.catalog.rule import Operation
from rules.conditions import evaluate
from rules.money import Line, labour_price
from rules.question import Fitter
from rules.tables import rules_of_kind

if TYPE_CHECKING:
    from rules.offers import Offers


PRICES_KEPT = 100_000
"""Prices of parts on days that are kept for a bike; beyond, every day is looked at anew."""


class Price(NamedTuple):
    """A price in force on a day [minor units]; `assumed` where the last list was carried past its end."""

    amount: int
    assumed: bool


class Work(NamedTuple):
    """One operation in one visit. `of` is the placement it is done for; None for tear-down, which is shared."""

    operation: str
    of: Placement | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doings:
    """What is done in one visit. `owned` are the additions that need not be bought, `replugs` parts with a plug that moves."""

    on: date
    fitter: Fitter
    adds: frozenset[Placement]
    removes: frozenset[Placement]
    presets: frozenset[Placement] = frozenset()
    replugs: frozenset[Placement] = frozenset()
    owned: frozenset[Placement] = frozenset()


class Pricer:
    """Prices on one bench. All amounts are minor units, tax included."""

    def __init__(self, bench: Bench) -> None:
        self.bench = bench
        self.catalog = bench.tables.catalog
        self._operations: dict[tuple[Placement, str], frozenset[Work]] = {}
        self._prices: dict[tuple[str, date], Price | None] = {}
        self._services: dict[tuple[str, date], str | None] = {}
        self._lists: dict[date, tuple[PriceList, bool] | None] = {}
        self.offers: dict[date, Offers] = {}

    def list_on(self, on: date) -> tuple[PriceList, bool] | None:
        """Give the price list in force on a day, and whether it is assumed; None before the first list."""
        if on not in self._lists:
            self._lists[on] = self._list_on(on)
        return self._lists[on]

    def _list_on(self, on: date) -> tuple[PriceList, bool] | None:
        lists = self.catalog.price_lists
        for one in lists:
            if one.first <= on <= one.last:
                return one, False
        return (lists[-1], True) if lists and on > lists[-1].last else None

    def price(self, part_id: str, on: date) -> Price | None:
        """Give what a part costs on a day; None if it is not for sale then."""
        key = (part_id, on)
        if key not in self._prices:
            if len(self._prices) >= PRICES_KEPT:
                self._forget_days()
            self._prices[key] = self._price(part_id, on)
        return self._prices[key]

    def _forget_days(self) -> None:
        # There is no end of days that somebody may ask about.
        for kept in (self._prices, self._services, self._lists, self.offers):
            kept.clear()

    def _price(self, part_id: str, on: date) -> Price | None:
        part = self.catalog.parts[part_id]
        found = self.list_on(on)
        if found is None or part.stock_only or (part.available is not None and not part.available.holds(on)):
            return None
        amount = found[0].prices.get(part_id)
        if amount is None or self.bench.tables.hold(part_id, on) is not None:
            return None
        return Price(amount, found[1])

    def resale(self, part_id: str, on: date) -> int:
        """Give what the shop pays for a used part on a day."""
        found = self.list_on(on)
        return found[0].resale.get(part_id, 0) if found else 0

    def service(self, amplifier: Placement, on: date) -> str | None:
        """Give the cheapest preset service for sale for an amplifier: price, then its name."""
        key = (amplifier.part, on)
        if key not in self._services:
            self._services[key] = self._service(*key)
        return self._services[key]

    def _service(self, amplifier: str, on: date) -> str | None:
        offered = [
            (price.amount + self.bench_price(service, on), service)
            for service in self.bench.tables.services.get(amplifier, ())
            if (price := self.price(service, on)) is not None
        ]
        return min(offered)[1] if offered else None

    def work(self, doings: Doings) -> frozenset[Work]:
        """Give the operations of a visit, each once, with everything that must come off for them."""
        done: set[Work] = set()
        for action, placements in (
            ("add", doings.adds),
            ("remove", doings.removes),
            ("replug", doings.replugs),
            ("preset", doings.presets),
        ):
            for placed in placements:
                done |= self.operations(placed, action)
        return frozenset(done)

    def operations(self, placed: Placement, action: str) -> frozenset[Work]:
        """Give the operations of one action on one placement, with their tear-down."""
        key = (placed, action)
        if key not in self._operations:
            own = [
                rule
                for rule in self.bench.tables.operations[placed.part]
                if rule.action == action
                and rule.subject is not None
                and self.bench.selects(rule.subject, placed)
                and self._applies(rule, placed)
            ]
            shared = self._tear_down(name for rule in own for name in rule.after)
            self._operations[key] = frozenset(Work(rule.id, placed) for rule in own) | shared
        return self._operations[key]

    def charged_replugs(self, placements: Iterable[Placement]) -> frozenset[Placement]:
        """Give those of some placements for which moving a plug is an operation of its own."""
        return frozenset(x for x in placements if self.operations(x, "replug"))

    @cached_property
    def charges_replugs(self) -> bool:
        """Tell whether moving a plug of anything that could be on this bike is an operation of its own."""
        bench = self.bench
        moved = [rule.subject for rule in rules_of_kind(self.catalog, Operation) if rule.action == "replug"]
        parts = {part for subject in moved if subject is not None for part in bench.tables.selected(subject)}
        could = chain(bench.present, chain.from_iterable(map(bench.of_part, parts)))
        return any(self.operations(x, "replug") for x in could)

    def operation(self, work: Work) -> Operation:
        """Give the rule behind a piece of work."""
        rule = self.catalog.rules[work.operation]
        assert isinstance(rule, Operation)  # noqa: S101 - `after` names operations only: checked at load
        return rule

    def work_price(self, work: Work, on: date) -> int:
        """Give a labour line's price in the shop."""
        found = self.list_on(on)
        return labour_price(self.operation(work).minutes, found[0].labour_per_hour) if found else 0

    def lines(self, doings: Doings) -> tuple[Line, ...] | None:
        """Give every line of a visit; None if something added is not for sale, or a preset is not offered, on that day."""
        bought = self.purchases(doings)
        services = {amplifier: self.service(amplifier, doings.on) for amplifier in doings.presets}
        if bought is None or None in services.values():
            return None
        presets = [
            line
            for amplifier, name in sorted(services.items())
            for line in self._preset_lines(amplifier, name, doings)
        ]
        freight = self._freight(doings) if doings.presets and doings.fitter == "home" else ()
        return (*bought, *self.labour_lines(doings), *presets, *freight, *self._resale_lines(doings))

    def purchases(self, doings: Doings) -> tuple[Line, ...] | None:
        """Buy what is added, singly or in bundles, at the least price; None if something is not for sale."""
        return self.cover(Counter(placed.part for placed in doings.adds - doings.owned), doings.on)

    def cover(self, needed: Counter[str], on: date) -> tuple[Line, ...] | None:
        """Give the cheapest purchase lines for these pieces; of equals the fewest lines, then in order of names."""
        offers = self._bundles(needed, on)
        best = self._cover(needed, on, offers)
        return None if best is None else tuple(best[2])

    def bundle_shares(self, bundle: str, on: date) -> dict[str, int]:
        """Share a bundle's price over its members, in proportion to their single prices, each rounded half up."""
        members = self.catalog.parts[bundle].members
        price = self.price(bundle, on)
        found = self.list_on(on)
        singles = {member: found[0].prices.get(member, 0) if found else 0 for member in members}
        whole = sum(singles[member] for member in members)
        if price is None or whole == 0:
            return dict.fromkeys(members, 0)
        return {
            member: (2 * single * price.amount + whole) // (2 * whole) for member, single in singles.items()
        }

    def least_price(self, part: str, on: date) -> int | None:
        """Give the least that a part may cost, singly or as its share of a bundle."""
        price = self.price(part, on)
        if price is None:
            return None
        parts = self.catalog.parts
        bundles = (x for x in self.bench.tables.bundles if part in parts[x].members and self.price(x, on))
        return min([price.amount, *(self.bundle_shares(bundle, on)[part] for bundle in bundles)])

    def _cover(
        self, needed: Counter[str], on: date, offers: list[tuple[str, Price]]
    ) -> tuple[int, int, list[Line]] | None:
        """Buy no bundle, or one of the first, and so on: exact, as bundles that share pieces are few."""
        found: list[tuple[int, int, list[Line]]] = []
        singles = self._singles(needed, on)
        if singles is not None:
            found.append(singles)
        for index, (bundle, price) in enumerate(offers):
            rest = needed - Counter(self.catalog.parts[bundle].members)
            if rest == needed:
                continue
            inner = self._cover(rest, on, offers[index:])
            if inner is not None:
                line = Line(kind="bundle", about=bundle, total=price.amount, assumed=price.assumed)
                found.append((inner[0] + price.amount, inner[1] + 1, [line, *inner[2]]))
        return min(found, key=lambda x: (x[0], x[1], [line.about for line in x[2]])) if found else None

    def _singles(self, needed: Counter[str], on: date) -> tuple[int, int, list[Line]] | None:
        lines: list[Line] = []
        for part_id, pieces in sorted(needed.items()):
            price = self.price(part_id, on)
            if price is None:
                return None
            lines.append(
                Line(
                    kind="part",
                    about=part_id,
                    quantity=pieces,
                    total=pieces * price.amount,
                    assumed=price.assumed,
                )
            )
        return sum(line.total for line in lines), len(lines), lines

    def _bundles(self, needed: Counter[str], on: date) -> list[tuple[str, Price]]:
        return [
            (bundle, price)
            for bundle in self.bench.tables.bundles
            if not needed.keys().isdisjoint(self.catalog.parts[bundle].members)
            and (price := self.price(bundle, on)) is not None
        ]

    def labour_lines(self, doings: Doings) -> Iterator[Line]:
        """Give the labour lines of a visit, presets aside. At home only the workshop's own work is charged."""
        for work in sorted(self.charged_work(doings), key=_in_order):
            yield self._labour_line(work, doings.on)

    def charged_work(self, doings: Doings) -> Iterator[Work]:
        """Give the operations of a visit that are paid."""
        presets = self._preset_work(doings)
        for work in self.work(doings):
            if doings.fitter == "shop" or not self.operation(work).home or work in presets:
                yield work

    def _labour_line(self, work: Work, on: date) -> Line:
        rule = self.operation(work)
        return Line(
            kind="labour",
            about=rule.id,
            of=str(work.of or ""),
            quantity=rule.minutes,
            total=self.work_price(work, on),
            assumed=self._is_assumed(on),
        )

    def _preset_lines(self, amplifier: Placement, service: str | None, doings: Doings) -> Iterator[Line]:
        price = self.price(service, doings.on) if service else None
        if service is None or price is None:
            return
        of, minutes = str(amplifier), self._bench_minutes(service)
        yield Line(kind="preset", about=service, of=of, total=price.amount, assumed=price.assumed)
        yield Line(
            kind="labour",
            about=service,
            of=of,
            quantity=minutes,
            total=self.bench_price(service, doings.on),
            assumed=price.assumed,
        )

    def _bench_minutes(self, service: str) -> int:
        preset = self.catalog.parts[service].preset
        return preset.minutes if preset else 0

    def bench_price(self, service: str, on: date) -> int:
        """Give what a preset's time at the bench costs."""
        found = self.list_on(on)
        return labour_price(self._bench_minutes(service), found[0].labour_per_hour) if found else 0

    def preset_price(self, amplifier: Placement, on: date) -> int:
        """Give what a preset costs on a day, with its time at the bench, freight aside."""
        service = self.service(amplifier, on)
        price = self.price(service, on) if service else None
        return 0 if service is None or price is None else price.amount + self.bench_price(service, on)

    def _freight(self, doings: Doings) -> tuple[Line, ...]:
        found = self.list_on(doings.on)
        return (
            (Line(kind="freight", about="freight", total=found[0].freight, assumed=found[1]),)
            if found
            else ()
        )

    def _resale_lines(self, doings: Doings) -> Iterator[Line]:
        for placed in sorted(doings.removes):
            value = self.resale(placed.part, doings.on)
            if value:
                yield Line(
                    kind="resale",
                    about=placed.part,
                    of=str(placed),
                    total=-value,
                    assumed=self._is_assumed(doings.on),
                )

    def _is_assumed(self, on: date) -> bool:
        found = self.list_on(on)
        return bool(found and found[1])

    def _preset_work(self, doings: Doings) -> frozenset[Work]:
        work: set[Work] = set()
        for amplifier in doings.presets:
            work |= self.operations(amplifier, "preset")
        return frozenset(work)

    def _applies(self, rule: Operation, placed: Placement) -> bool:
        if rule.when is None:
            return True
        # An unknown condition counts as true: rather a minute too many on the quote than one too few.
        return evaluate(rule.when, lambda name: self._fact(name, placed), lambda _: None).holds is not False

    def _fact(self, name: str, placed: Placement) -> Value | Unknown | None:
        return None if placed == _NOWHERE and not name.startswith("bike.") else self.bench.fact(name, placed)

    def _tear_down(self, names: Iterable[str]) -> frozenset[Work]:
        reached: set[str] = set()
        ahead = list(names)
        while ahead:
            name = ahead.pop()
            rule = self.catalog.rules[name]
            if name not in reached and isinstance(rule, Operation) and self._applies(rule, _NOWHERE):
                reached.add(name)
                ahead.extend(rule.after)
        return frozenset(Work(name, None) for name in reached)


_NOWHERE = Placement("", "")
"""Tear-down is done for no part in particular: only facts of the bike are known for it."""


def _in_order(work: Work) -> tuple[str, str]:
    return work.operation, str(work.of or "")
