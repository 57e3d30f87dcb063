"""Whether the budgets of a path bear what its visits cost: those of visits, of calendar years, and of the whole."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from rules.plan.problem import Problem

ENDLESS = 10**15
"""More than anything costs [minor units]."""


class Purse:
    """The budgets of a problem. Visits are counted from 1.

    Attributes:
        caps: The most that each visit may cost before resale, as far as that can be told by itself.
        caps_after: The most that all visits after each may cost together.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.stages = problem.stages
        self.is_free = not (
            problem.budget is not None
            or problem.year_budgets
            or problem.most_total is not None
            or any(stage.budget is not None for stage in problem.stages)
        )
        self._ahead = [self._by_year(k) for k in range(problem.last + 1)]
        self.caps = [ENDLESS, *(self._cap(k) for k in range(1, problem.last + 1))]
        self.caps_after = [self._most_after(k) for k in range(problem.last + 1)]

    def _cap(self, k: int) -> int:
        if self.problem.resale_counts:
            return ENDLESS
        stage = self.stages[k - 1]
        caps = (stage.budget, self.problem.budget, self.problem.year_budgets.get(stage.on.year))
        return min((x for x in caps if x is not None), default=ENDLESS)

    def _most_after(self, k: int) -> int:
        return ENDLESS if self.problem.resale_counts else self._room((0,) * k)

    def bears(self, paid: Sequence[int], fetched: Sequence[int], spent: int, back: int) -> bool:
        """Tell whether the budgets bear the visits so far, and leave room for what is still to come.

        Args:
            paid: The cost of each visit so far, before resale.
            fetched: What each of them fetched.
            spent: The least that is still to be spent.
            back: The most that is still to be fetched.
        """
        if self.is_free:
            return True
        counts = self.problem.resale_counts
        net = [x - y for x, y in zip(paid, fetched, strict=True)] if counts else list(paid)
        ahead = spent - back if counts else spent
        return self._bears(net) and self._bears_total(paid, fetched) and ahead <= self._room(net)

    def may_bear(self, spent: int, back: int) -> bool:
        """Tell whether the budgets bear a path that spends no less and fetches no more than this."""
        return (spent - back if self.problem.resale_counts else spent) <= self._whole

    @cached_property
    def _whole(self) -> int:
        return self._room(())

    def _room(self, net: Sequence[int]) -> int:
        """Give the most that the visits ahead may cost together."""
        room = sum(min(most, cap - self._of_year(net, year)) for year, most, cap in self._ahead[len(net)])
        return room if self.problem.budget is None else min(room, self.problem.budget - sum(net))

    def _by_year(self, k: int) -> list[tuple[int, int, int]]:
        """Give for the years after a visit what their visits may cost each by itself, and what all of the year may."""
        years = dict[int, int]()
        for stage in self.stages[k:]:
            most = ENDLESS if stage.budget is None else stage.budget
            years[stage.on.year] = min(ENDLESS, years.get(stage.on.year, 0) + most)
        return [(year, most, self.problem.year_budgets.get(year, ENDLESS)) for year, most in years.items()]

    def _of_year(self, net: Sequence[int], year: int) -> int:
        return sum(x for x, stage in zip(net, self.stages, strict=False) if stage.on.year == year)

    def _bears(self, net: Sequence[int]) -> bool:
        """Tell whether no budget is exceeded; one that later resale may still ease is not asked yet."""
        problem, k = self.problem, len(net)
        if not k:
            return True
        budget, year = self.stages[k - 1].budget, self.stages[k - 1].on.year
        is_over = not problem.resale_counts or k == problem.last
        if budget is not None and net[-1] > budget:
            return False
        if problem.budget is not None and is_over and sum(net) > problem.budget:
            return False
        is_over = is_over or self.stages[k].on.year != year
        return not is_over or self._of_year(net, year) <= problem.year_budgets.get(year, ENDLESS)

    def _bears_total(self, paid: Sequence[int], fetched: Sequence[int]) -> bool:
        most = self.problem.most_total
        return most is None or len(paid) < self.problem.last or sum(paid) - sum(fetched) <= most
