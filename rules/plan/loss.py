"""The waste of one schedule, reckoned from what it does: as the model does where it still has to choose."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date

from rules.build import Placement
from rules.desk import Desk
from rules.money import Line
from rules.plan.problem import Problem
from rules.plan.schedule import Schedule, doings_of
from rules.plan.settle import State, lost_presets
from rules.pricing import Doings, Work


def waste_of(desk: Desk, problem: Problem, schedule: Schedule, way: State) -> int:
    """Give the waste of a schedule in minor units."""
    doings = [doings_of(schedule, problem, k) for k in range(1, problem.last + 1)]
    presets = sum(_preset_price(desk, problem, *lost) for lost in lost_presets(way))
    parts = sum(_lost_parts(desk, one, doings[k + 1 :]) for k, one in enumerate(doings))
    return presets + parts + sum(x for one in doings for x in _lost_work(desk, one, schedule))


def _preset_price(desk: Desk, problem: Problem, amplifier: Placement, k: int) -> int:
    return desk.pricer.preset_price(amplifier, problem.stages[k - 1].on)


def _lost_parts(desk: Desk, doings: Doings, later: list[Doings]) -> int:
    """Give what is lost on the pieces that a visit buys: of each part, the dear pieces count as those that fetch most, or stay."""
    sold = {x: desk.pricer.resale(x.part, one.on) for one in later for x in one.removes}
    paid: dict[str, list[int]] = {}
    for line in desk.pricer.purchases(doings) or ():
        for part, price in _pieces(desk, line, doings.on):
            paid.setdefault(part, []).append(price)
    return sum(_lost(prices, part, doings, sold) for part, prices in paid.items())


def _pieces(desk: Desk, line: Line, on: date) -> Iterator[tuple[str, int]]:
    if line.kind == "bundle":
        shares = desk.pricer.bundle_shares(line.about, on)
        yield from ((member, shares[member]) for member in desk.pricer.catalog.parts[line.about].members)
    else:
        yield from [(line.about, line.total // line.quantity)] * line.quantity


def _lost(prices: list[int], part: str, doings: Doings, sold: Mapping[Placement, int]) -> int:
    bought = [x for x in doings.adds - doings.owned if x.part == part]
    gone = sorted((sold[x] for x in bought if x in sold), reverse=True)
    # What a bundle brings and nobody needs fetches nothing.
    fetched = [*gone, *[0] * (len(prices) - len(bought))]
    leaving = sorted(prices, reverse=True)[len(bought) - len(gone) :]
    return sum(max(0, price - back) for price, back in zip(leaving, fetched, strict=True))


def _lost_work(desk: Desk, doings: Doings, schedule: Schedule) -> Iterator[int]:
    """Give the labour of a visit that served only what is gone at the end."""
    pricer, last = desk.pricer, schedule.builds[-1]
    for work in pricer.charged_work(doings):
        served = {x for x in doings.adds if _serves(desk, work, x)} | set(_made_room(desk, work, doings))
        if served and served.isdisjoint(last):
            yield pricer.work_price(work, doings.on)


def _serves(desk: Desk, work: Work, added: Placement) -> bool:
    return any(work in desk.pricer.operations(added, action) for action in ("add", "preset"))


def _made_room(desk: Desk, work: Work, doings: Doings) -> Iterator[Placement]:
    """Give what came into the slots of parts that this work took out."""
    bench = desk.bench
    for gone in doings.removes:
        if work in desk.pricer.operations(gone, "remove"):
            slot = (gone.place, bench.part(gone).slot)
            yield from (x for x in doings.adds if (x.place, bench.part(x).slot) == slot)
