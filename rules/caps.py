"""Budgets of a path question, each by itself: how much of it a plan takes, and the same question with more or less of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from rules.answer import Plan
from rules.question import PathQuestion

CapKind = Literal["budget", "year_budget", "path_budget"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cap:
    """The most that some visits (counted from 1) may cost together [minor units]; `about` is a day, a year, or `path`."""

    kind: CapKind
    about: str
    most: int
    visits: tuple[int, ...]

    def used(self, question: PathQuestion, plan: Plan) -> int:
        """Give what a plan takes of it [minor units]; less than nothing where resale counts and brings more."""
        visits = [plan.visits[k - 1] for k in self.visits]
        return sum(x.spent - (x.resale if question.resale_counts else 0) for x in visits)

    def put(self, question: PathQuestion, most: int | None) -> PathQuestion:
        """Give the question with another amount for this budget; None: without it."""
        match self.kind:
            case "budget":
                stages = list(question.stages)
                stages[self.visits[0] - 1] = replace(stages[self.visits[0] - 1], budget=most)
                return replace(question, stages=tuple(stages))
            case "year_budget":
                others = {year: cap for year, cap in question.year_budgets.items() if str(year) != self.about}
                own = {} if most is None else {int(self.about): most}
                return replace(question, year_budgets={**others, **own})
            case "path_budget":
                return replace(question, budget=most)


def caps_of(question: PathQuestion) -> Iterator[Cap]:
    """Give every budget of a question: visits in order, then years, then the whole."""
    for number, stage in enumerate(question.stages, 1):
        if stage.budget is not None:
            yield Cap(kind="budget", about=stage.on.isoformat(), most=stage.budget, visits=(number,))
    for year, most in sorted(question.year_budgets.items()):
        visits = tuple(k for k, stage in enumerate(question.stages, 1) if stage.on.year == year)
        yield Cap(kind="year_budget", about=str(year), most=most, visits=visits)
    if question.budget is not None:
        every = tuple(range(1, len(question.stages) + 1))
        yield Cap(kind="path_budget", about="path", most=question.budget, visits=every)
