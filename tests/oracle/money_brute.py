"""What one stage costs, line by line, as section 5 of the definitions says."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from itertools import product
from math import floor

from rules.build import Build, Placement
from tests.oracle.checks_brute import holds
from tests.oracle.reading import World


@dataclass(frozen=True)
class Cover:
    """One way to buy what is added: what was paid for each piece, and for the pieces that nobody needs."""

    cost: int
    paid: dict[str, int]
    wasted: tuple[int, ...]


@dataclass(frozen=True)
class Work:
    """One labour line, and the added placements that it serves."""

    operation: str
    amount: int
    serves: frozenset[Placement]


@dataclass(frozen=True)
class Step:
    """What comes in, what goes out, and what stays and has plugs moved."""

    added: Build
    removed: Build
    replugged: Build = frozenset()


@dataclass(frozen=True)
class Bill:
    """All the money of one stage. `presets` gives price and bench time for each amplifier."""

    covers: tuple[Cover, ...]
    work: tuple[Work, ...]
    presets: dict[Placement, int]
    freight: int
    resale: dict[Placement, int]

    @property
    def spent(self) -> int:
        labour = sum(work.amount for work in self.work)
        return self.covers[0].cost + labour + sum(self.presets.values()) + self.freight

    @property
    def back(self) -> int:
        return sum(self.resale.values())


def half_up(amount: Fraction) -> int:
    return floor(amount + Fraction(1, 2))


def bill(world: World, day: date, fitter: str, step: Step, presets, *, path: bool) -> Bill | None:
    """Give the bill of a stage; None if it cannot be had: not sold, or, in a path, not for a home fitter."""
    prices, added = world.price_list(day), step.added
    if prices is None or not all(world.for_sale(placement.part, day) for placement in added):
        return None
    if not all(world.services(amplifier.part, day) for amplifier in presets):
        return None
    work = _fitting(world, day, step)
    if fitter == "home":
        work = [line for line in work if not world.rule(line.operation).home]
    if path and fitter == "home" and work:
        return None
    return Bill(
        tuple(covers(world, day, [placement.part for placement in added])),
        (*work, *_preset_work(world, day, added, presets)),
        {amplifier: _preset_price(world, day, amplifier) for amplifier in presets},
        prices.freight if presets and fitter == "home" else 0,
        {placement: prices.resale.get(placement.part, 0) for placement in step.removed},
    )


# Purchases ----------------------------------------------------------------------------------------


def covers(world: World, day: date, parts) -> list[Cover]:
    """Give every cheapest way to buy the parts."""
    wanted = Counter(parts)
    bundles = [part for part in world.catalog.parts.values() if part.members and world.for_sale(part.id, day)]
    bundles = [bundle for bundle in bundles if wanted.keys() & set(bundle.members)]
    found = [
        _cover(world, day, wanted, dict(zip([bundle.id for bundle in bundles], counts, strict=True)))
        for counts in product(*(range(sum(wanted[part] for part in set(one.members)) + 1) for one in bundles))
    ]
    cheapest = min(cover.cost for cover in found)
    return [cover for cover in found if cover.cost == cheapest]


def _cover(world: World, day: date, wanted, counts) -> Cover:
    prices = world.price_list(day).prices
    pieces: dict[str, list[int]] = {}
    for bundle, count in counts.items():
        for part, share in bundle_shares(world, day, bundle) * count:
            pieces.setdefault(part, []).append(share)
    cost = sum(prices[bundle] * count for bundle, count in counts.items())
    paid: dict[str, int] = {}
    wasted: list[int] = []
    for part in wanted | Counter(pieces.keys()):
        delivered = pieces.get(part, [])
        singles = max(0, wanted[part] - len(delivered))
        cost += singles * prices[part] if singles else 0
        used = (delivered + [prices.get(part, 0)] * singles)[: wanted[part]]
        paid |= {part: used[0]} if used else {}
        wasted += delivered[len(used) :]
    return Cover(cost, paid, tuple(wasted))


def bundle_shares(world: World, day: date, bundle: str) -> list[tuple[str, int]]:
    """Share a bundle's price over its members in proportion to their single prices."""
    prices = world.price_list(day).prices
    members = world.catalog.parts[bundle].members
    total = sum(prices.get(member, 0) for member in members)
    return [
        (one, half_up(Fraction(prices[bundle] * prices.get(one, 0), total)) if total else 0)
        for one in members
    ]


# Labour -------------------------------------------------------------------------------------------


def _priced(world: World, day: date, minutes: int) -> int:
    return half_up(Fraction(minutes * world.price_list(day).labour_per_hour, 60))


def _operations(world: World, action: str, placement: Placement):
    for rule in world.rules("operation"):
        chosen = rule.action == action and world.selects_placed(rule.subject, placement)
        if chosen and holds(world, rule.when, placement, {placement}) is not False:
            yield rule


def _jobs(world: World, step: Step):
    """Give every action on a placement, with the added placements that it serves."""
    for placement in sorted(step.added):
        yield "add", placement, frozenset([placement])
    for placement in sorted(step.removed):
        slot = world.slot(placement)
        yield "remove", placement, frozenset(other for other in step.added if world.slot(other) == slot)
    for placement in sorted(step.replugged):
        # No added placement is selected or followed here, so this work serves none, and is never lost with one.
        yield "replug", placement, frozenset()


def _fitting(world: World, day: date, step: Step) -> list[Work]:
    lines: list[Work] = []
    teardown: dict[str, set[Placement]] = {}
    for action, placement, serves in _jobs(world, step):
        for rule in _operations(world, action, placement):
            lines.append(Work(rule.id, _priced(world, day, rule.minutes), serves))
            _take_down(world, rule, placement, serves, teardown)
    for name, all_served in teardown.items():
        lines.append(Work(name, _priced(world, day, world.rule(name).minutes), frozenset(all_served)))
    return lines


def _take_down(world: World, rule, placement, serves, teardown) -> None:
    for name in rule.after:
        before = world.rule(name)
        if holds(world, before.when, placement, {placement}) is not False:
            teardown.setdefault(name, set()).update(serves)
            _take_down(world, before, placement, serves, teardown)


def _preset_work(world: World, day: date, added, presets) -> list[Work]:
    return [
        Work(rule.id, _priced(world, day, rule.minutes), frozenset({amplifier} & set(added)))
        for amplifier in sorted(presets)
        for rule in _operations(world, "preset", amplifier)
    ]


def _preset_price(world: World, day: date, amplifier: Placement):
    service = world.services(amplifier.part, day)[0]
    minutes = world.minutes(service)
    return world.price_list(day).prices[service] + _priced(world, day, minutes)
