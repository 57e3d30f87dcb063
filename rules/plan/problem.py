"""A search problem: visits, what is there, what is wanted, and what may be done. Fit questions have one visit."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from rules.build import Build, Placement
from rules.question import Stage


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """Any one of these placements is in the build from visit `since` (counted from 1) to the last. `about` names it for people.

    With `least_w`, each of its speakers gets at least this power from its channel [W].
    """

    options: frozenset[Placement]
    since: int
    about: str = ""
    least_w: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Problem:
    """What the search must decide.

    Args:
        start: The placements before the first visit.
        may_add: Tells whether a placement may be added in a visit (counted from 1): for sale, not excluded.
        may_remove: Tells whether a placement may be removed in a visit.
        may_go: Placements that may be taken out though nothing wanted comes in at their place.
        must_remove: Placements that are gone after the first visit.
        free: Placements that need not be bought.
        strict_home: Work that a home fitter may not do rules a home visit out (paths); else it is priced as in the shop.
        start_counts: The start must be valid too if nothing is done (verdicts); else a bike may be ridden on as it came.
        most_added_kg: What is there more than at the start weighs at most this, after every visit; masses are known.
        keeps_wires: Steps must fit without rewiring; `rewirable` are the exceptions.
        most_total: The whole cost after resale is at most this [minor units].
        most_pieces: Of these parts at most so many pieces are added, whenever and wherever.
    """

    start: Build
    stages: tuple[Stage, ...]
    demands: tuple[Demand, ...]
    may_add: Callable[[Placement, int], bool]
    may_remove: Callable[[Placement, int], bool]
    must_remove: frozenset[Placement] = frozenset()
    may_go: frozenset[Placement] = frozenset()
    free: frozenset[Placement] = frozenset()
    strict_home: bool = False
    start_counts: bool = False
    keeps_wires: bool = False
    rewirable: frozenset[str] = frozenset()
    budget: int | None = None
    year_budgets: Mapping[int, int] = field(default_factory=dict)
    resale_counts: bool = False
    most_added_kg: float | None = None
    most_total: int | None = None
    most_pieces: Mapping[str, int] = field(default_factory=dict)

    @property
    def last(self) -> int:
        """Give the number of the last visit."""
        return len(self.stages)
