"""The solver, and what models for it are put together from.

It is loaded when the first model is built: it brings numpy and pandas, which take longer to load than most questions to answer.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, cast

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

    Literal = cp_model.IntVar | int
    Sum = cp_model.LinearExpr | int

WORK_LIMIT = 30.0
"""Deterministic time that one call of the solver may take: counted work, the same on any machine."""

SMALL = 400
"""Variables up to which a model gains nothing from full linearisation."""


def new_model() -> cp_model.CpModel:
    """Give an empty model."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - see above

    return cp_model.CpModel()


def new_solver(variables: int = SMALL + 1) -> cp_model.CpSolver:
    """Give a solver that answers the same on any machine: one worker, a fixed seed, counted work."""
    from ortools.sat.python import cp_model  # noqa: PLC0415 - see above

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 1
    # Full linearisation: the money is a cover problem, which linear bounds close quickly (measured on the demo: 5.1 s to 0.3 s).
    solver.parameters.linearization_level = 2 if variables > SMALL else 1
    # What prepares a model costs more than it saves where a model is solved in milliseconds, again and again.
    solver.parameters.cp_model_probing_level = 0
    solver.parameters.symmetry_level = 0
    solver.parameters.max_presolve_iterations = 1
    solver.parameters.cut_level = 0
    solver.parameters.max_deterministic_time = WORK_LIMIT
    return solver


def sum_of(terms: Iterable[Sum]) -> Sum:
    """Add up terms."""
    return cast("Sum", sum(terms))


def negated(literal: Literal) -> Literal:
    """Give the reverse of a literal."""
    return 1 - literal if isinstance(literal, int) else cast("Literal", literal.negated())
