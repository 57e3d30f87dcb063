"""Why each part of a plan is bought, and why at that visit; and what other choices would cost."""

from __future__ import annotations

from typing import Self

from rules.answer import NoPlan
from rules.catalog.catalog import Catalog
from rules.question import PathQuestion
from rules.why import Moved, Need, NotBought, Outcome, Reason, Reasons
from service.serving import Serving
from service.shapes.base import Told
from service.shapes.paths import PathTold
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.work import name_of


class NeedTold(Told):
    """What is refused, or not verified, from a visit on where the part is left out: the rule, and the parts it is about."""

    rule: str
    name: str
    by: tuple[PlacementTold, ...]
    visit: int

    @classmethod
    def from_domain(cls, need: Need, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            rule=need.rule,
            name=name_of(need.rule, catalog),
            by=placements_told(need.by, catalog),
            visit=need.visit,
        )


class MovedVisitTold(Told):
    """What comes of fitting a part, with what it alone needs, at another visit, all else as planned.

    `by_minor` is the difference of the total, `parts_minor`, `labour_minor` and `presets_minor` of it; the rest is what is sold
    on. `about` names the rule, the want, the part, the work or the budget in the way; `short_minor` is what that budget lacks.
    """

    visit: int
    outcome: Outcome
    by_minor: int | None
    parts_minor: int
    labour_minor: int
    presets_minor: int
    about: str
    short_minor: int | None

    @classmethod
    def from_domain(cls, moved: Moved) -> Self:
        """Write it."""
        return cls(
            visit=moved.visit,
            outcome=moved.outcome,
            by_minor=moved.by,
            parts_minor=moved.parts,
            labour_minor=moved.labour,
            presets_minor=moved.presets,
            about=moved.about,
            short_minor=moved.short,
        )


class PurchaseReasonTold(Told):
    """Why one part is bought, and why at this visit.

    `wanted` are the wants that it meets, `due_visit` the first at which one of them is due, `needed` what needs it. `for_later`
    are wants without which the cheapest plan does not have it. Of what was paid, `kept_minor` is on the bike at the end or
    was got back, and `wasted_minor` is gone.
    """

    part: PlacementTold
    visit: int
    wanted: tuple[str, ...]
    due_visit: int | None
    needed: tuple[NeedTold, ...]
    for_later: tuple[str, ...]
    bundle: str | None
    moved: tuple[MovedVisitTold, ...]
    paid_minor: int
    kept_minor: int
    wasted_minor: int

    @classmethod
    def from_domain(cls, reason: Reason, catalog: Catalog) -> Self:
        """Write a reason."""
        return cls(
            part=PlacementTold.from_domain(reason.part, catalog),
            visit=reason.visit,
            wanted=reason.wanted,
            due_visit=reason.due,
            needed=tuple(NeedTold.from_domain(x, catalog) for x in reason.needed),
            for_later=reason.for_later,
            bundle=reason.bundle,
            moved=tuple(map(MovedVisitTold.from_domain, reason.moved)),
            paid_minor=reason.paid,
            kept_minor=reason.kept,
            wasted_minor=reason.wasted,
        )


class NotBoughtTold(Told):
    """A part that a want leaves open and the plan does without, and the cheapest plan that has it; null where none has."""

    want: str
    part: PlacementTold
    total_minor: int | None
    dearer_by_minor: int | None

    @classmethod
    def from_domain(cls, choice: NotBought, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            want=choice.want,
            part=PlacementTold.from_domain(choice.part, catalog),
            total_minor=choice.total,
            dearer_by_minor=choice.dearer_by,
        )


class PathReasonsTold(PathTold):
    """The cheapest plan as `POST /v1/paths` answers it, the reason of each purchase, and what other choices would cost."""

    purchases: tuple[PurchaseReasonTold, ...] = ()
    not_bought: tuple[NotBoughtTold, ...] = ()

    @classmethod
    def of_answer(cls, answer: Reasons | NoPlan, question: PathQuestion, serving: Serving) -> Self:
        """Write either answer."""
        if isinstance(answer, NoPlan):
            return cls.from_domain(answer, question, serving)
        catalog = serving.catalog_of(question.found)
        return cls.from_domain(answer.plan, question, serving).model_copy(
            update={
                "purchases": tuple(PurchaseReasonTold.from_domain(x, catalog) for x in answer.purchases),
                "not_bought": tuple(NotBoughtTold.from_domain(x, catalog) for x in answer.not_bought),
            }
        )
