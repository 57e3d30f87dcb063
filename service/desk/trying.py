"""What can be asked to be otherwise in what is left of a saved plan."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from rules.done import PlanChange
from rules.explain import part_name, placement_name
from rules.question import Stage
from service.desk.asked import Fields, minor_of, visits_in, years_in
from service.desk.view import PlanView
from service.plans.saved import SavedPlan
from service.shapes.placement import read_placement


@dataclass(frozen=True, slots=True, kw_only=True)
class Movable:
    """A part that is still to come or to go, and what can be asked of it; `chosen` is what was asked last."""

    name: str
    choices: tuple[tuple[str, str], ...]
    chosen: str


def movable(saved: SavedPlan, view: PlanView, fields: Fields) -> tuple[Movable, ...]:
    """Give the parts that somebody wanted and that are still to come, and those that are to come off what is on the bike now."""
    return tuple(_movable(saved, view, fields.all("part")))


def _movable(saved: SavedPlan, view: PlanView, asked: tuple[str, ...]) -> Iterator[Movable]:
    wanted = {part for want in saved.question.wants for part in want.parts}
    coming = {x.part for _, visit in saved.to_come for x in visit.adds} & wanted
    for part in sorted(coming):
        yield _choice(
            part_name(part, view.catalog),
            (f"now:{part}", "at the next visit"),
            (f"drop:{part}", "do without"),
            asked=asked,
        )
    there = saved.found_now.present(view.bench.stock)
    for placed in sorted({x for _, visit in saved.to_come for x in visit.removes} & there):
        yield _choice(
            f"{placement_name(placed, view.catalog)}, comes off", (f"keep:{placed}", "must stay"), asked=asked
        )


def _choice(name: str, *others: tuple[str, str], asked: tuple[str, ...]) -> Movable:
    chosen = next((value for value, _ in others if value in asked), "")
    return Movable(name=name, choices=(("", "as planned"), *others), chosen=chosen)


def read_change(fields: Fields, view: PlanView) -> PlanChange:
    """Read what is to be otherwise in what is left of a plan: its visits, what all may cost, parts sooner, kept or not at all.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    stages = tuple(
        Stage(
            on=date.fromisoformat(str(x["on"])),
            fitter="home" if x["fitter"] == "home" else "shop",
            budget=budget if isinstance(budget := x.get("budget_minor"), int) else None,
        )
        for x in visits_in(fields, view.shop)
    )
    chosen = [x.partition(":") for x in fields.all("part")]
    years = {x["year"]: x["budget_minor"] for x in years_in(fields, view.shop)}
    return PlanChange(
        stages=stages,
        budget=minor_of(fields.one("whole"), view.shop, "whole"),
        year_budgets=years if fields.years else None,
        now=tuple(part for word, _, part in chosen if word == "now"),
        drop=tuple(part for word, _, part in chosen if word == "drop"),
        keep=tuple(read_placement(part) for word, _, part in chosen if word == "keep"),
    )
