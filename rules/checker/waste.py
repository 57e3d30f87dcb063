"""What of a plan's money is gone at its end: pieces that were sold on or never needed, void presets, work for what is gone."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from itertools import zip_longest

from rules.answer import Visit
from rules.build import Build, Placement
from rules.checker.chains import InForce
from rules.checker.money import charged
from rules.checker.tariff import Tariff
from rules.checker.work import Work


@dataclass(frozen=True, slots=True)
class Done:
    """A visit with what is needed to reckon its money: its number, the prices of its day, its work."""

    number: int
    visit: Visit
    tariff: Tariff
    work: list[Work]


_ALL = 10**18
"""More than any price: of what stays, nothing is lost."""

Fetched = dict[Placement, int]
"""What each placement that goes out fetches on its day."""


def waste_of(done: list[Done], in_force: InForce) -> int:
    """Give the waste of a plan.

    Args:
        in_force: The presets in force at the end.
    """
    last = done[-1].visit.build
    fetched = {x: one.tariff.resale(x.part) for one in done for x in one.visit.removes}
    return sum(_purchases(one, fetched, last) + _presets(one, in_force) + _labour(one, last) for one in done)


def _purchases(one: Done, fetched: Fetched, last: Build) -> int:
    """Add up what the pieces cost that are not there at the end, less what they fetched."""
    pieces: defaultdict[str, list[int]] = defaultdict(list)
    for line in one.visit.lines:
        if line.kind == "part" and line.quantity > 0:
            pieces[line.about] += [line.total // line.quantity] * line.quantity
        elif line.kind == "bundle":
            for member, share in one.tariff.shares(line.about) * line.quantity:
                pieces[member].append(share)
    return sum(_lost(paid, part, one.visit, fetched, last) for part, paid in pieces.items())


def _lost(paid: list[int], part: str, visit: Visit, fetched: Fetched, last: Build) -> int:
    """Give the least loss over all ways to say which piece went where: the dear ones where the most comes back."""
    worth = [_ALL if x in last else fetched.get(x, 0) for x in visit.adds if x.part == part]
    pairs = zip_longest(sorted(paid, reverse=True), sorted(worth, reverse=True), fillvalue=0)
    return sum(max(0, price - back) for price, back in pairs)


def _presets(one: Done, in_force: InForce) -> int:
    void = [
        made
        for made in one.visit.presets
        if made.amplifier not in in_force or in_force[made.amplifier].visit != one.number
    ]
    return sum(one.tariff.service_price(made.service) or 0 for made in void)


def _labour(one: Done, last: Build) -> int:
    lost = [work for work in charged(one.visit, one.work) if work.serves and not work.serves & last]
    return sum(one.tariff.work(work.operation.minutes) for work in lost)
