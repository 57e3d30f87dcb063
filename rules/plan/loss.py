"""The waste of one schedule, reckoned from what it does: as the model does where it still has to choose."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.desk import Desk
from rules.plan.problem import Problem
from rules.plan.schedule import Schedule, doings_of
from rules.plan.settle import State, lost_presets
from rules.pricing import Doings, Work


def waste_of(desk: Desk, problem: Problem, schedule: Schedule, way: State) -> int | None:
    """Give the waste of a schedule in minor units; None where bundles are bought: of those the model knows which piece is whose."""
    doings = [doings_of(schedule, problem, k) for k in range(1, problem.last + 1)]
    if any(line.kind == "bundle" for one in doings for line in desk.pricer.purchases(one) or ()):
        return None
    presets = sum(_preset_price(desk, problem, *lost) for lost in lost_presets(way))
    parts = sum(x for k, one in enumerate(doings) for x in _lost_parts(desk, one, doings[k + 1 :]))
    return presets + parts + sum(x for one in doings for x in _lost_work(desk, one, schedule))


def _preset_price(desk: Desk, problem: Problem, amplifier: Placement, k: int) -> int:
    return desk.pricer.preset_price(amplifier, problem.stages[k - 1].on)


def _lost_parts(desk: Desk, doings: Doings, later: list[Doings]) -> Iterator[int]:
    for placed in doings.adds - doings.owned:
        gone = next((one.on for one in later if placed in one.removes), None)
        price = desk.pricer.price(placed.part, doings.on)
        if gone is not None and price is not None:
            yield max(0, price.amount - desk.pricer.resale(placed.part, gone))


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
