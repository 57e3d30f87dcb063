"""The ledger of a plan: an entry for every part it should have, and sums that are those of the lines."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from rules.answer import LedgerPart, Plan, Visit
from rules.build import Placement
from rules.checker.fault import Breaks, Clause
from rules.checker.waste import Done
from rules.checker.world import World
from rules.money import Line

Key = tuple[int | None, str, str | None, str | None]
"""The visit in which an entry was bought, its part, its place, its bundle."""


def check_ledger(world: World, plan: Plan, done: list[Done]) -> Breaks:
    """Name every entry that is missing, not due or wrong."""
    gone = {placed: one for one in done for placed in one.visit.removes}
    for entry in plan.ledger:
        if not _is_told_right(entry, gone):
            yield Clause.LEDGER, f"what becomes of {_shown(entry)}"
    yield from _before(world, plan, gone)
    for one in done:
        yield from _bought(plan, one)
    if any(entry.visit is not None and not 1 <= entry.visit <= len(done) for entry in plan.ledger):
        yield Clause.LEDGER, "there is no such visit"


def _is_told_right(entry: LedgerPart, gone: dict[Placement, Done]) -> bool:
    """Tell whether an entry stays, or is sold on, as the visits say."""
    if entry.place is None:
        return (entry.stays, entry.sold_at, entry.resale) == (False, None, 0)
    one = gone.get(Placement(entry.part, entry.place))
    if one is None:
        return (entry.stays, entry.sold_at, entry.resale) == (True, None, 0)
    fetched = one.tariff.resale(entry.part)
    return (entry.stays, entry.sold_at, entry.resale) == (False, one.number, fetched)


def _before(world: World, plan: Plan, gone: dict[Placement, Done]) -> Breaks:
    """What was fitted earlier is told as it is known; of stock, only what goes out."""
    due: Counter[tuple[object, ...]] = Counter()
    for known in world.found.fitted:
        due[*known.placement, known.paid, known.fitted_on, known.fitter] += 1
    for placed in world.present & gone.keys() - {known.placement for known in world.found.fitted}:
        due[*placed, None, None, None] += 1
    told: Counter[tuple[object, ...]] = Counter(
        (x.part, x.place, x.paid, x.on, x.fitter) for x in plan.ledger if x.visit is None
    )
    for entry in (due - told) + (told - due):
        yield Clause.LEDGER, f"{entry[0]}@{entry[1]} before the first visit"


def _bought(plan: Plan, one: Done) -> Breaks:
    """Every added placement is there once, and every piece that a line buys."""
    told = [entry for entry in plan.ledger if entry.visit == one.number]
    placed = Counter(Placement(x.part, x.place) for x in told if x.place is not None)
    for wrong in (placed - Counter(one.visit.adds)) + (Counter(one.visit.adds) - placed):
        yield Clause.LEDGER, f"{wrong} in visit {one.number}"
    for entry in told:
        fitter = one.visit.fitter if entry.place is not None else None
        if (entry.on, entry.fitter) != (one.visit.on, fitter):
            yield Clause.LEDGER, f"day or fitter of {_shown(entry)}"
    pieces = Counter(_pieces(one))
    given = Counter((x.part, x.bundle) for x in told)
    for part, bundle in (pieces - given) + (given - pieces):
        yield Clause.LEDGER, f"pieces of {part} {bundle or ''} in visit {one.number}"
    yield from _paid(one, told)


def _pieces(one: Done) -> Iterator[tuple[str, str | None]]:
    for line in _purchases(one.visit):
        for _ in range(line.quantity):
            if line.kind == "part":
                yield line.about, None
            else:
                yield from ((member, line.about) for member, _ in one.tariff.shares(line.about))


def _purchases(visit: Visit) -> list[Line]:
    return [line for line in visit.lines if line.kind in ("part", "bundle")]


def _paid(one: Done, told: list[LedgerPart]) -> Breaks:
    """A single piece is paid at its price; members of a bundle at their shares, which sum to its price."""
    for entry in told:
        if entry.bundle is None and entry.paid != one.tariff.price(entry.part):
            yield Clause.LEDGER, f"paid for {_shown(entry)}"
    for line in _purchases(one.visit):
        if line.kind == "bundle":
            shares = one.tariff.shares(line.about) * line.quantity
            paid = [entry for entry in told if entry.bundle == line.about]
            if sum(entry.paid or 0 for entry in paid) != line.total or _odd(shares, paid) > line.quantity:
                yield Clause.LEDGER, f"shares of {line.about} in visit {one.number}"


def _odd(shares: list[tuple[str, int]], paid: list[LedgerPart]) -> int:
    """Count the members that are not paid at their rounded share: one of each bundle takes what rounding left."""
    given = Counter((entry.part, entry.paid or 0) for entry in paid)
    return (given - Counter(shares)).total()


def _shown(entry: LedgerPart) -> str:
    return entry.part if entry.place is None else f"{entry.part}@{entry.place}"
