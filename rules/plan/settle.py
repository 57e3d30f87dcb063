"""The wirings and presets of a schedule: whether its builds follow one another without rewiring, and which presets that takes."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.build import Build, Placement
from rules.changes import Feeding, feeding_of, next_feeding
from rules.desk import Desk
from rules.plan.problem import Problem
from rules.plan.schedule import Schedule
from rules.presets import InForce, in_force_as_found, presets_to_make
from rules.wiring import Option

Presets = tuple[frozenset[Placement], ...]


@dataclass(frozen=True, slots=True)
class State:
    """Where a schedule may stand after a visit: the wiring chosen, what feeds what, the presets in force; and how it came there."""

    options: tuple[Option | None, ...]
    feeding: Feeding
    in_force: InForce
    presets: Presets


@dataclass(frozen=True, slots=True)
class Settled:
    """The ways to wire a schedule; if there is none, the visit in which the last one failed."""

    ways: tuple[State, ...]
    failed_at: int = 0


def settle(desk: Desk, problem: Problem, schedule: Schedule) -> Settled:
    """Choose wirings for all builds of a schedule, in every way that differs in presets."""
    states = _first(desk)
    for visit in range(1, problem.last + 1):
        before, after = schedule.builds[visit - 1], schedule.builds[visit]
        if before == after:
            states = [
                State((*x.options, x.options[-1]), x.feeding, x.in_force, (*x.presets, frozenset()))
                for x in states
            ]
            continue
        found = [new for state in states for new in _step(desk, problem, state, after, visit)]
        states = _distinct(found)
        if not states:
            return Settled((), visit)
    return Settled(tuple(states))


def lost_presets(state: State) -> frozenset[tuple[Placement, int]]:
    """Give the presets (amplifier and visit) made on this way that are not in force at its end."""
    last: dict[Placement, int] = {}
    for visit, made in enumerate(state.presets):
        for amplifier in made:
            last[amplifier] = visit
    in_force = {amplifier for _, amplifier, _ in state.in_force}
    return frozenset(
        (amplifier, visit)
        for visit, made in enumerate(state.presets)
        for amplifier in made
        if last[amplifier] != visit or amplifier not in in_force
    )


def _first(desk: Desk) -> list[State]:
    none: Presets = (frozenset(),)
    options = desk.examiner.present_wirings
    if not options:
        return [State((None,), Feeding(()), frozenset(), none)]
    return _distinct([State((x,), feeding_of(x), in_force_as_found(desk.bench, x), none) for x in options])


def _step(desk: Desk, problem: Problem, state: State, after: Build, visit: int) -> Iterator[State]:
    on = problem.stages[visit - 1].on
    for option in desk.examiner.examine(after).options:
        feeding = state.feeding
        if problem.keeps_wires:
            followed = next_feeding(desk.bench, state.feeding, after, option)
            if followed is None:
                continue
            feeding = followed
        made, in_force = presets_to_make(desk.bench, after, option, state.in_force)
        if all(desk.pricer.service(x, on) for x in made):
            yield State((*state.options, option), feeding, in_force, (*state.presets, made))


def _distinct(states: list[State]) -> list[State]:
    kept: dict[tuple[Feeding, InForce, Presets], State] = {}
    for state in states:
        kept.setdefault((state.feeding, state.in_force, state.presets), state)
    return list(kept.values())
