"""What else a path can be least in: money before resale, one visit's money, what is not there yet after the first visit."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TYPE_CHECKING

from rules.plan.master import Master
from rules.plan.problem import Demand
from rules.plan.solver import negated, sum_of

if TYPE_CHECKING:
    from rules.plan.solver import Sum

Aim = Callable[[Master], "Sum"]
"""Something to minimise."""

AS_USUAL: tuple[Aim, ...] = (Master.total, Master.visits_and_pieces, Master.wasted, Master.pieces)
"""What decides among schedules that are equal in an aim: cost, then visits, waste, pieces, names."""


def spent(master: Master) -> Sum:
    """Give what is paid in all visits, before resale."""
    return sum_of(term for terms in master.spent.values() for term in terms)


def first_visit(master: Master) -> Sum:
    """Give what is paid in the first visit, before resale."""
    return sum_of(master.spent[1])


def cost_of(visits: Iterable[int], *, resale: bool) -> Aim:
    """Give what these visits cost, as a budget counts it.

    Args:
        resale: What is sold on makes room.
    """
    counted = tuple(visits)

    def cost(master: Master) -> Sum:
        paid = sum_of(term for k in counted for term in master.spent[k])
        back = sum_of(term for k in counted for term in master.resale[k]) if resale else 0
        return paid - back

    return cost


def unmet_first(master: Master) -> Sum:
    """Give how many of the demands nothing meets after the first visit."""
    return sum_of(_is_unmet(master, [demand]) for demand in master.problem.demands)


def nothing_new_first(master: Master) -> Sum:
    """Give 1 if the first visit meets no demand that the bike does not meet already, else 0."""
    return _is_unmet(
        master, [x for x in master.problem.demands if x.options.isdisjoint(master.problem.start)]
    )


def _is_unmet(master: Master, demands: list[Demand]) -> Sum:
    """Give a literal that holds, at least, where nothing that meets one of these demands is there after the first visit."""
    there = [
        master.there[x, 1] for demand in demands for x in sorted(demand.options) if (x, 1) in master.there
    ]
    if any(isinstance(x, int) and x == 1 for x in there):
        return 0
    free = [x for x in there if not isinstance(x, int)]
    unmet = master.model.new_bool_var("unmet")
    master.model.add_bool_or([unmet, *free])
    for literal in free:
        master.model.add_implication(literal, negated(unmet))
    return unmet
