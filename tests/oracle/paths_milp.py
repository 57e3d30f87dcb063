"""The cheapest path as one mixed-integer linear model, solved by HiGHS (https://highs.dev), one thread.

It shares no encoding with the CP-SAT model: parts come and go as intervals, sound flows, loads climb in steps. It is for questions
in which everything is known, the bike stands in one way, and a zone side holds one speaker.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from time import monotonic
from typing import Any, NamedTuple

from ortools.math_opt.python import mathopt

from rules.question import PathQuestion
from tests.oracle.milp_limits import Limits
from tests.oracle.milp_model import Frame
from tests.oracle.milp_money import Money
from tests.oracle.milp_moves import Moves, Presets
from tests.oracle.milp_things import Things
from tests.oracle.milp_wires import Wires
from tests.oracle.reading import World
from tests.oracle.wirings_brute import present_wirings


class Solved(NamedTuple):
    """What is compared of a path."""

    total: int
    visits: int
    waste: int


def cheapest_path(catalog, question: PathQuestion, seconds: float | None = None) -> Solved | None:
    """Give the cheapest path's money, visits and waste, or None where there is no path.

    Raises: TimeoutError, where the seconds for this question are over before there is a proof.
    """
    end = None if seconds is None else monotonic() + seconds
    world = World(catalog, question.bike, question.found)
    ways = present_wirings(world)
    assert len(ways) < 2, "this model is for bikes that stand in one way"
    frame = Frame(world, question)
    things = Things(frame)
    wires = Wires(frame, ways[0] if ways else None)
    moves = Moves(frame, wires)
    presets = Presets(frame, wires, Limits(frame, wires))
    money = Money(frame, things, moves, presets)
    goals = (money.total, frame.sum(frame.busy.values()), money.waste)
    values: list[int] = []
    for goal in goals:
        value = _minimum(frame.model, goal, end)
        if value is None:
            assert not values
            return None
        values.append(value)
    return Solved(*values)


def _minimum(model: mathopt.Model, goal, end: float | None) -> int | None:
    """Minimise a goal, a whole number, and hold it there; None if nothing can be."""
    model.minimize(goal)
    result = _solved(model, end)
    if result.termination.reason == mathopt.TerminationReason.INFEASIBLE:
        # The presolve of this HiGHS takes some models for infeasible that are not: no is said by a search of the whole only.
        result = _solved(model, end, presolve=mathopt.Emphasis.OFF)
    reason = result.termination.reason
    if reason == mathopt.TerminationReason.INFEASIBLE:
        return None
    if reason != mathopt.TerminationReason.OPTIMAL:
        if end is not None:
            raise TimeoutError
        raise AssertionError(result.termination)
    found = float(result.objective_value())
    value = round(found)
    assert abs(found - value) < 0.01, found
    model.add_linear_constraint(goal <= value + 0.4)
    return value


def _solved(model: mathopt.Model, end: float | None, presolve: mathopt.Emphasis | None = None) -> Any:
    limit = None if end is None else timedelta(seconds=max(0.1, end - monotonic()))
    # Goals are whole: what is closer than a half is the same.
    parameters = mathopt.SolveParameters(
        time_limit=limit,
        random_seed=1,
        relative_gap_tolerance=0.0,
        absolute_gap_tolerance=0.4,
        presolve=presolve,
    )
    with _silent():
        return mathopt.solve(model, mathopt.SolverType.HIGHS, params=parameters)


@contextmanager
def _silent() -> Iterator[None]:
    """Keep what HiGHS prints about single steps off the standard output, whatever it is told."""
    kept, nowhere = os.dup(1), os.open(os.devnull, os.O_WRONLY)
    os.dup2(nowhere, 1)
    try:
        yield
    finally:
        os.dup2(kept, 1)
        os.close(kept)
        os.close(nowhere)
