"""Plans besides the cheapest, each better in something that is named; and what other budgets would change."""

from __future__ import annotations

from typing import Self

from rules.alternatives import Alternative, Alternatives, Better, BetterIn, Measures, WhatIf
from rules.answer import NoPlan
from rules.caps import CapKind
from rules.question import PathQuestion
from service.serving import Serving
from service.shapes.base import Told
from service.shapes.paths import PathTold, PlanTold


class MeasuresTold(Told):
    """What plans are compared by.

    `spent_minor` is before resale; `visits` counts those in which something is done; `wants_first` the wants that nothing
    meets after the first visit; `first_visit_minor` is what the first visit asks for, before resale.
    """

    total_minor: int
    spent_minor: int
    visits: int
    waste_minor: int
    wants_first: int
    first_visit_minor: int

    @classmethod
    def from_domain(cls, measures: Measures) -> Self:
        """Write measures."""
        return cls(
            total_minor=measures.total,
            spent_minor=measures.spent,
            visits=measures.visits,
            waste_minor=measures.waste,
            wants_first=measures.wants_first,
            first_visit_minor=measures.first_visit,
        )


class BetterTold(Told):
    """What a plan is better in than the cheapest, and by how much: minor units, visits, or wants."""

    what: BetterIn
    by: int

    @classmethod
    def from_domain(cls, better: Better) -> Self:
        """Write it."""
        return cls(what=better.what, by=better.by)


class AlternativeTold(Told):
    """Another plan: what is better in it, and what it costs more than the cheapest."""

    better: tuple[BetterTold, ...]
    dearer_by_minor: int
    measures: MeasuresTold
    plan: PlanTold

    @classmethod
    def from_domain(cls, other: Alternative, question: PathQuestion, serving: Serving) -> Self:
        """Write an alternative."""
        catalog, figures = serving.catalog_of(question.found), serving.engine.figures(question, other.plan)
        return cls(
            better=tuple(map(BetterTold.from_domain, other.better)),
            dearer_by_minor=other.dearer_by,
            measures=MeasuresTold.from_domain(other.measures),
            plan=PlanTold.from_domain(other.plan, figures, catalog),
        )


class OtherBudgetTold(Told):
    """What another amount for one budget would do.

    `about` is a visit's day, a year, or `path`. `used_minor` is what the plan takes of the budget. `total_without_minor` is the
    total with no such budget. From `better_from_minor` on the total falls, to `better_total_minor`; null if no amount does
    that. With one minor unit less than is used, the total is `total_below_minor`; null if there is no plan then.
    """

    kind: CapKind
    about: str
    budget_minor: int
    used_minor: int
    total_without_minor: int | None
    better_from_minor: int | None
    better_total_minor: int | None
    total_below_minor: int | None

    @classmethod
    def from_domain(cls, what_if: WhatIf) -> Self:
        """Write it."""
        return cls(
            kind=what_if.kind,
            about=what_if.about,
            budget_minor=what_if.budget,
            used_minor=what_if.used,
            total_without_minor=what_if.total_without,
            better_from_minor=what_if.better_from,
            better_total_minor=what_if.better_total,
            total_below_minor=what_if.total_below,
        )


class PathAlternativesTold(PathTold):
    """The cheapest plan as `POST /v1/paths` answers it, at most four others, and what other budgets would change."""

    measures: MeasuresTold | None = None
    others: tuple[AlternativeTold, ...] = ()
    what_ifs: tuple[OtherBudgetTold, ...] = ()

    @classmethod
    def of_answer(cls, answer: Alternatives | NoPlan, question: PathQuestion, serving: Serving) -> Self:
        """Write either answer."""
        if isinstance(answer, NoPlan):
            return cls.from_domain(answer, question, serving)
        return cls.from_domain(answer.cheapest, question, serving).model_copy(
            update={
                "measures": MeasuresTold.from_domain(answer.measures),
                "others": tuple(AlternativeTold.from_domain(x, question, serving) for x in answer.others),
                "what_ifs": tuple(map(OtherBudgetTold.from_domain, answer.what_ifs)),
            }
        )
