"""What stands in the way of a path: a smallest set of demands that cannot be had together."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import partial

from rules.answer import Conflict
from rules.build import Placement
from rules.question import PathQuestion, Stage, Want
from rules.wish import about

Eased = Callable[[PathQuestion], PathQuestion]
"""Takes one demand out of a question."""


def smallest_conflict(
    question: PathQuestion, has_path: Callable[[PathQuestion], bool]
) -> tuple[tuple[Conflict, ...], PathQuestion]:
    """Drop demands one by one while there is still no path: what is left is necessary, and together sufficient.

    Returns: the conflicting demands, and the question with those alone.
    """
    kept: list[Conflict] = []
    for conflict, ease in demands_of(question):
        eased = ease(question)
        if has_path(eased):
            kept.append(conflict)
        else:
            question = eased
    return tuple(kept), question


def demands_of(question: PathQuestion) -> Iterator[tuple[Conflict, Eased]]:
    """Give every demand of a question, with how it is taken out: money first, what is wanted last."""
    yield from _money(question)
    yield from _limits(question)
    for want in question.wants:
        yield Conflict(kind="want", about=about(want)), partial(_without_want, want)


def _money(question: PathQuestion) -> Iterator[tuple[Conflict, Eased]]:
    for index, stage in enumerate(question.stages):
        if stage.budget is not None:
            yield Conflict(kind="budget", about=stage.on.isoformat()), partial(_with_budget, index, None)
    for year in sorted(question.year_budgets):
        yield Conflict(kind="year_budget", about=str(year)), partial(_without_year, year)
    if question.budget is not None:
        yield Conflict(kind="path_budget", about="path"), lambda q: replace(q, budget=None)


def _limits(question: PathQuestion) -> Iterator[tuple[Conflict, Eased]]:
    for index, stage in enumerate(question.stages):
        if stage.fitter == "home":
            yield Conflict(kind="fitter", about=stage.on.isoformat()), partial(_at_the_shop, index)
    if question.colour is not None:
        yield Conflict(kind="colour", about=question.colour), lambda q: replace(q, colour=None)
    if question.most_added_kg is not None:
        mass = f"{question.most_added_kg:g} kg"
        yield Conflict(kind="mass", about=mass), lambda q: replace(q, most_added_kg=None)
    for placed in sorted(question.locked):
        yield Conflict(kind="locked", about=str(placed)), partial(_without_lock, placed)
    for part in sorted(question.excluded):
        yield Conflict(kind="excluded", about=part), partial(_with_part, part)


def _with_budget(index: int, budget: int | None, question: PathQuestion) -> PathQuestion:
    return _with_stage(question, index, lambda stage: replace(stage, budget=budget))


def _at_the_shop(index: int, question: PathQuestion) -> PathQuestion:
    return _with_stage(question, index, lambda stage: replace(stage, fitter="shop"))


def _with_stage(question: PathQuestion, index: int, change: Callable[[Stage], Stage]) -> PathQuestion:
    stages = tuple(change(x) if i == index else x for i, x in enumerate(question.stages))
    return replace(question, stages=stages)


def _without_year(year: int, question: PathQuestion) -> PathQuestion:
    left = {y: cap for y, cap in question.year_budgets.items() if y != year}
    return replace(question, year_budgets=left)


def _without_lock(placed: Placement, question: PathQuestion) -> PathQuestion:
    return replace(question, locked=question.locked - {placed})


def _with_part(part: str, question: PathQuestion) -> PathQuestion:
    return replace(question, excluded=question.excluded - {part})


def _without_want(want: Want, question: PathQuestion) -> PathQuestion:
    return replace(question, wants=tuple(x for x in question.wants if x != want))
