"""What a search proposes: the build after each visit, the presets made in it, and the parts that are re-plugged."""

from __future__ import annotations

from dataclasses import dataclass

from rules.build import Build, Placement
from rules.plan.problem import Problem
from rules.pricing import Doings

ByVisit = tuple[frozenset[Placement], ...]
"""Placements by visit; index 0, before the first, is empty."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Schedule:
    """A solution: the build after each visit (index 0: before the first), and what else each takes.

    `presets` are those made, `replugs` the parts whose re-plugging is paid, `void` the presets counted as lost.
    """

    builds: tuple[Build, ...]
    presets: ByVisit
    replugs: ByVisit
    void: frozenset[tuple[Placement, int]] = frozenset()

    def adds(self, visit: int) -> frozenset[Placement]:
        """Give what a visit adds."""
        return self.builds[visit] - self.builds[visit - 1]

    def removes(self, visit: int) -> frozenset[Placement]:
        """Give what a visit removes."""
        return self.builds[visit - 1] - self.builds[visit]


def doings_of(schedule: Schedule, problem: Problem, visit: int) -> Doings:
    """Give what a visit of a schedule does."""
    stage = problem.stages[visit - 1]
    adds = schedule.adds(visit)
    return Doings(
        on=stage.on,
        fitter=stage.fitter,
        adds=adds,
        removes=schedule.removes(visit),
        presets=schedule.presets[visit],
        replugs=schedule.replugs[visit],
        owned=adds & problem.free,
    )
