"""The cheapest way from this bike to what is wanted, over dated visits."""

from __future__ import annotations

from datetime import date
from typing import Annotated, Literal, Self

from pydantic import Field

from rules.answer import Conflict, Cure, CureKind, LedgerPart, NoPlan, Plan, Proof, Visit
from rules.catalog.catalog import Catalog
from rules.catalog.part import Kind
from rules.errors import MalformedQuestion
from rules.explain import place_name
from rules.figures import VisitFigures
from rules.question import Fitter, PathQuestion, Stage, Want
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, Day, Figure, FitterWord, Flag, Id, Minor, Told
from service.shapes.figures import FiguresTold
from service.shapes.finding import CauseTold, FindingTold, causes_told, findings_told
from service.shapes.found import FoundAsked
from service.shapes.placement import PlacementAsked, PlacementTold, placements_told
from service.shapes.release import ReleaseNamed
from service.shapes.work import (
    ChangeTold,
    FeedTold,
    LineTold,
    PresetTold,
    changes_told,
    feeds_told,
    lines_told,
    name_of,
    presets_told,
)

Year = Annotated[int, Field(ge=1900, le=2200), WHOLE]


class VisitAsked(Asked):
    """One visit: its day, who fits, and the most that it may cost."""

    on: Day
    fitter: FitterWord = "shop"
    budget_minor: Minor | None = None

    def to_domain(self) -> Stage:
        """Read it."""
        return Stage(on=self.on, fitter=self.fitter, budget=self.budget_minor)


class WantAsked(Asked):
    """One thing wanted at the end: any part that is all that is said here, on the bike already or fitted.

    `any_of` names parts; left out, any of the catalog will do. `zone` alone means speakers there. `functions` are tags
    that the part has, all of them. `least_power_w` asks for a pair of which each speaker gets at least so much rated power
    from its channel. `by_visit` is the latest visit at which it must be there; 1 is the first.
    """

    any_of: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    place: Id | None = None
    zone: Id | None = None
    kind: Kind | None = None
    functions: Annotated[tuple[Id, ...], Field(max_length=20)] = ()
    lines: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    colour: Id | None = None
    most_kg: Figure | None = None
    least_power_w: Figure | None = None
    by_visit: Annotated[int, Field(ge=1, le=6), WHOLE] | None = None

    def to_domain(self) -> Want:
        """Read it."""
        return Want(
            parts=self.any_of,
            place=self.place,
            zone=self.zone,
            kind=self.kind,
            functions=self.functions,
            lines=self.lines,
            colour=self.colour,
            most_kg=self.most_kg,
            least_w=self.least_power_w,
            by=self.by_visit,
        )


class YearBudgetAsked(Asked):
    """The most that all visits of one calendar year may cost."""

    year: Year
    budget_minor: Minor


class PathAsked(Asked):
    """What is wanted, over which visits, for how much.

    `locked` stays where it is. `may_go` may be taken out though nothing wanted comes in at its place. `colour`: painted parts
    that come in are of this colour. `most_added_kg`: what comes in less what goes out weighs at most this.
    """

    bike: Id
    visits: Annotated[tuple[VisitAsked, ...], Field(min_length=1, max_length=6)]
    wants: Annotated[tuple[WantAsked, ...], Field(min_length=1, max_length=50)]
    found: FoundAsked = FoundAsked()
    budget_minor: Minor | None = None
    year_budgets: Annotated[tuple[YearBudgetAsked, ...], Field(max_length=20)] = ()
    resale_counts: Flag = False
    excluded: Annotated[tuple[Id, ...], Field(max_length=200)] = ()
    locked: Annotated[tuple[PlacementAsked, ...], Field(max_length=100)] = ()
    allowed_rewiring: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    may_go: Annotated[tuple[PlacementAsked, ...], Field(max_length=100)] = ()
    colour: Id | None = None
    most_added_kg: Figure | None = None

    def to_domain(self) -> PathQuestion:
        """Read it.

        Raises:
            MalformedQuestion: A year has two budgets.
        """
        return PathQuestion(
            bike=self.bike,
            stages=tuple(visit.to_domain() for visit in self.visits),
            wants=tuple(want.to_domain() for want in self.wants),
            found=self.found.to_domain(),
            budget=self.budget_minor,
            year_budgets=budgets_by_year(self.year_budgets),
            resale_counts=self.resale_counts,
            excluded=frozenset(self.excluded),
            locked=frozenset(entry.to_domain() for entry in self.locked),
            allowed_rewiring=frozenset(self.allowed_rewiring),
            may_go=frozenset(entry.to_domain() for entry in self.may_go),
            colour=self.colour,
            most_added_kg=self.most_added_kg,
        )


def budgets_by_year(budgets: tuple[YearBudgetAsked, ...]) -> dict[int, int]:
    """Read budgets of calendar years.

    Raises:
        MalformedQuestion: A year has two.
    """
    read: dict[int, int] = {}
    for index, entry in enumerate(budgets):
        if entry.year in read:
            raise MalformedQuestion(
                f"year_budgets.{index}", "a year has two budgets", "give each year one budget"
            )
        read[entry.year] = entry.budget_minor
    return read


class VisitTold(Told):
    """One visit: what is done, what it comes to, and what is on the bike afterwards.

    `stays` are additions still there at the end.
    """

    on: date
    fitter: Fitter
    is_empty: bool
    adds: tuple[PlacementTold, ...]
    removes: tuple[PlacementTold, ...]
    presets: tuple[PresetTold, ...]
    lines: tuple[LineTold, ...]
    spent_minor: int
    resale_minor: int
    stays: tuple[PlacementTold, ...]
    changes: tuple[ChangeTold, ...]
    feeds: tuple[FeedTold, ...]
    advice: tuple[FindingTold, ...]
    build: tuple[PlacementTold, ...]
    figures: FiguresTold

    @classmethod
    def from_domain(cls, visit: Visit, figures: VisitFigures, catalog: Catalog) -> Self:
        """Write a visit."""
        return cls(
            on=visit.on,
            fitter=visit.fitter,
            is_empty=visit.is_empty,
            adds=placements_told(visit.adds, catalog),
            removes=placements_told(visit.removes, catalog),
            presets=presets_told(visit.presets, catalog),
            lines=lines_told(visit.lines, catalog),
            spent_minor=visit.spent,
            resale_minor=visit.resale,
            stays=placements_told(visit.stays, catalog),
            changes=changes_told(visit.changes),
            feeds=feeds_told(visit.feeds, catalog),
            advice=findings_told(visit.advice, catalog),
            build=placements_told(visit.build, catalog),
            figures=FiguresTold.from_domain(figures),
        )


class LedgerTold(Told):
    """One part: what was paid for it, when and by whom it was fitted, and whether it stays or is sold on.

    `paid_minor`, `on` and `fitter` are null where nobody knows them. `visit` counts from 1, and is null for what was there
    before. `bundle` is the bundle that it came in; what such a bundle brings beyond need has no `place`.
    """

    part: str
    name: str
    place: str | None
    place_name: str | None
    paid_minor: int | None
    on: date | None
    fitter: str | None
    visit: int | None
    bundle: str | None
    stays: bool
    sold_at_visit: int | None
    resale_minor: int

    @classmethod
    def from_domain(cls, entry: LedgerPart, catalog: Catalog) -> Self:
        """Write an entry."""
        return cls(
            part=entry.part,
            name=name_of(entry.part, catalog),
            place=entry.place,
            place_name=place_name(entry.place, catalog) if entry.place else None,
            paid_minor=entry.paid,
            on=entry.on,
            fitter=entry.fitter,
            visit=entry.visit,
            bundle=entry.bundle,
            stays=entry.stays,
            sold_at_visit=entry.sold_at,
            resale_minor=entry.resale,
        )


class ProofTold(Told):
    """Whether no cheaper plan exists: `proven`, or `best_found` with the least that any plan could cost."""

    state: Literal["proven", "best_found"]
    bound_minor: int

    @classmethod
    def from_domain(cls, proof: Proof) -> Self:
        """Write a proof."""
        return cls(state=proof.state, bound_minor=proof.bound)


class PlanTold(Told):
    """The cheapest path.

    `total_minor` is what is spent less what sold parts fetch; `waste_minor` of it is gone at the end.
    `ledger` has every part that is not stock, and each stock part that goes.
    """

    visits: tuple[VisitTold, ...]
    spent_minor: int
    resale_minor: int
    total_minor: int
    waste_minor: int
    proof: ProofTold
    ledger: tuple[LedgerTold, ...]
    lost_to_missing_facts: tuple[CauseTold, ...]

    @classmethod
    def from_domain(cls, plan: Plan, figures: tuple[VisitFigures, ...], catalog: Catalog) -> Self:
        """Write a plan."""
        visits = zip(plan.visits, figures, strict=True)
        return cls(
            visits=tuple(VisitTold.from_domain(visit, one, catalog) for visit, one in visits),
            spent_minor=plan.spent,
            resale_minor=plan.resale,
            total_minor=plan.total,
            waste_minor=plan.waste,
            proof=ProofTold.from_domain(plan.proof),
            ledger=tuple(LedgerTold.from_domain(entry, catalog) for entry in plan.ledger),
            lost_to_missing_facts=causes_told(plan.lost_to_missing_facts),
        )


class ConflictTold(Told):
    """One of the demands that cannot be had together."""

    kind: str
    about: str

    @classmethod
    def from_domain(cls, conflict: Conflict) -> Self:
        """Write a conflict."""
        return cls(kind=conflict.kind, about=conflict.about)


class CureTold(Told):
    """One change of the question that makes a path, tried and checked, with what the cheapest plan costs then.

    `about` says of which demand. `more_minor` is the least by which a budget must rise, `visit` the first visit by which a thing
    can be there, `on` the day of one visit more, with the fitter and the budget of the last one.
    """

    kind: CureKind
    about: str
    total_minor: int
    more_minor: int | None
    visit: int | None
    on: date | None

    @classmethod
    def from_domain(cls, cure: Cure) -> Self:
        """Write a cure."""
        return cls(
            kind=cure.kind,
            about=cure.about,
            total_minor=cure.total,
            more_minor=cure.more,
            visit=cure.visit,
            on=cure.on,
        )


class PathTold(Told):
    """A plan, or why there is none: the demands that conflict, with single changes that make a path, or missing facts."""

    release: ReleaseNamed
    outcome: Literal["path", "no_path", "not_verified"]
    bike: str
    currency: str
    plan: PlanTold | None = None
    conflicts: tuple[ConflictTold, ...] = ()
    cures: tuple[CureTold, ...] = ()
    findings: tuple[FindingTold, ...] = ()
    missing: tuple[CauseTold, ...] = ()
    ask: str = ""

    @classmethod
    def from_domain(cls, answer: Plan | NoPlan, question: PathQuestion, serving: Serving) -> Self:
        """Write either answer."""
        catalog = serving.catalog_of(question.found)
        release, currency = ReleaseNamed.from_domain(serving), catalog.shop.currency
        if isinstance(answer, Plan):
            plan = PlanTold.from_domain(answer, serving.engine.figures(question, answer), catalog)
            return cls(release=release, outcome="path", bike=question.bike, currency=currency, plan=plan)
        return cls(
            release=release,
            outcome="no_path" if answer.reason == "conflict" else "not_verified",
            bike=question.bike,
            currency=currency,
            conflicts=tuple(ConflictTold.from_domain(conflict) for conflict in answer.conflicts),
            cures=tuple(map(CureTold.from_domain, answer.cures)),
            findings=findings_told(answer.findings, catalog),
            missing=causes_told(answer.missing),
            ask=answer.ask,
        )
