"""Labour: the operations of a visit, each once, with all that comes off for them, and whom each serves."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from rules.build import Build, Placement
from rules.catalog.rule import Operation
from rules.checker.when import is_met
from rules.checker.world import LOOM, World

Action = Literal["add", "remove", "replug", "preset"]


@dataclass(slots=True)
class Work:
    """An operation in a visit: for one placement, or, tear-down, for all (`of` is None).

    `serves` are the added placements that it is done for; `for_preset` tells that a preset takes it.
    """

    operation: Operation
    of: Placement | None
    serves: set[Placement] = field(default_factory=set)
    for_preset: bool = False


@dataclass(frozen=True, slots=True)
class Jobs:
    """What is done with placements in a visit."""

    adds: Build
    removes: Build
    replugs: Build
    presets: Build


def work_of(world: World, jobs: Jobs) -> list[Work]:
    """Give all work of a visit, each piece once."""
    done: dict[tuple[str, Placement | None], Work] = {}
    for action, placed, serves in _asked(world, jobs):
        for rule in world.rules_on(placed).operations:
            if rule.action == action and _is_done(world, rule, placed):
                _do(done, rule, placed, serves, action)
                for torn in _tear_down(world, rule.after):
                    _do(done, torn, None, serves, action)
    return list(done.values())


def _asked(world: World, jobs: Jobs) -> Iterable[tuple[Action, Placement, set[Placement]]]:
    """Give every action on a placement, with the added placements that it serves."""
    for placed in jobs.adds:
        yield "add", placed, {placed}
    for placed in jobs.removes:
        yield "remove", placed, {x for x in jobs.adds if world.slot(x) == world.slot(placed)}
    for placed in jobs.replugs:
        yield "replug", placed, set()
    for placed in jobs.presets:
        yield "preset", placed, {placed} & jobs.adds


def _do(
    done: dict[tuple[str, Placement | None], Work],
    rule: Operation,
    of: Placement | None,
    serves: set[Placement],
    action: Action,
) -> None:
    work = done.setdefault((rule.id, of), Work(rule, of))
    work.serves |= serves
    work.for_preset = work.for_preset or action == "preset"


def _is_done(world: World, rule: Operation, placed: Placement) -> bool:
    """Tell whether the work is done: unless its condition is known not to hold. What else is fitted is not asked."""
    if rule.subject is None or not world.means(rule.subject, placed):
        return False
    return is_met(rule.when, world.fact_of(placed), lambda _: None) is not False


def _tear_down(world: World, names: Iterable[str]) -> list[Operation]:
    """Give everything that comes off, and off before that, where the bike's own facts do not say otherwise."""
    reached: dict[str, Operation] = {}
    ahead = list(names)
    while ahead:
        rule = world.index.catalog.rules[ahead.pop()]
        if isinstance(rule, Operation) and rule.id not in reached and _comes_off(world, rule):
            reached[rule.id] = rule
            ahead.extend(rule.after)
    return list(reached.values())


def _comes_off(world: World, rule: Operation) -> bool:
    def of_the_bike(name: str) -> object:
        return world.fact(name, LOOM) if name.startswith("bike.") else None

    return is_met(rule.when, of_the_bike, lambda _: None) is not False  # type: ignore[arg-type]
