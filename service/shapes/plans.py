"""Saved plans: how they are made, changed, listed, and told."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date, datetime
from typing import Annotated, Any, Literal, Self

from pydantic import Field

from rules.answer import NoPlan, Plan
from rules.catalog.catalog import Catalog
from rules.done import AS_BEFORE, PlanChange
from rules.figures import VisitFigures
from rules.impact.plans import Obstacle
from rules.question import PathQuestion
from service.plans.asking import Answer
from service.plans.form import found_asked, question_asked
from service.plans.saved import ChangeWord, Moved, NewRider, PlanListed, Revision, Rider, SavedPlan, State
from service.plans.standing import Standing, StandingWord
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, FitterWord, Id, Label, Minor, Told
from service.shapes.installs import VisitDoneTold
from service.shapes.page import PageTold
from service.shapes.paths import (
    PathAsked,
    PathTold,
    PlanTold,
    VisitAsked,
    WantAsked,
    YearBudgetAsked,
    budgets_by_year,
)
from service.shapes.placement import PlacementAsked, PlacementTold, placements_told
from service.shapes.release import ReleaseNamed

PlanIdField = Annotated[str, Field(min_length=1, max_length=32)]
Why = Annotated[str, Field(max_length=500)]


class RiderAsked(Asked):
    """Whose plan it is. Nothing personal belongs into any other field."""

    name: Annotated[Label, Field(min_length=1)]
    contact: Annotated[str, Field(max_length=500)] = ""

    def to_domain(self) -> NewRider:
        """Read it."""
        return NewRider(name=self.name, contact=self.contact)


class PlanSaveAsked(PathAsked):
    """A question as for `/v1/paths`, whose answer is saved. `rider` makes a new rider, `rider_id` names one who is there."""

    rider: RiderAsked | None = None
    rider_id: PlanIdField | None = None
    why: Why = ""

    def whose(self) -> str | NewRider | None:
        """Give the rider."""
        return self.rider.to_domain() if self.rider is not None else self.rider_id


class PlanChangeAsked(Asked):
    """What is to be otherwise in what is left of a plan; all that is left out stays as it is.

    `visits` are those to come, instead of those that are not done; `wants` what is wanted, instead of what was. `budget_minor`
    null takes the cap away. `keep` must stay where it is, `drop` must not be bought, `now` must be there after the next
    visit, and `fitter` does all visits to come.
    """

    visits: Annotated[tuple[VisitAsked, ...], Field(min_length=1, max_length=6)] | None = None
    wants: Annotated[tuple[WantAsked, ...], Field(min_length=1, max_length=50)] | None = None
    budget_minor: Minor | None = None
    year_budgets: Annotated[tuple[YearBudgetAsked, ...], Field(max_length=20)] | None = None
    fitter: FitterWord | None = None
    keep: Annotated[tuple[PlacementAsked, ...], Field(max_length=100)] = ()
    drop: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    now: Annotated[tuple[Id, ...], Field(max_length=50)] = ()
    colour: Id | None = None
    why: Why = ""

    def to_domain(self) -> PlanChange:
        """Read it.

        Raises:
            MalformedQuestion: A year has two budgets.
        """
        return PlanChange(
            stages=None if self.visits is None else tuple(x.to_domain() for x in self.visits),
            wants=None if self.wants is None else tuple(x.to_domain() for x in self.wants),
            budget=self.budget_minor if "budget_minor" in self.model_fields_set else AS_BEFORE,
            year_budgets=None if self.year_budgets is None else budgets_by_year(self.year_budgets),
            fitter=self.fitter,
            keep=tuple(x.to_domain() for x in self.keep),
            drop=self.drop,
            now=self.now,
            colour=self.colour,
        )


class PlanMoveAsked(Asked):
    """Another bike for a plan. `visits` left out: one today; `wants` left out: a pair in each zone that has one now."""

    next_bike: Id
    visits: Annotated[tuple[VisitAsked, ...], Field(min_length=1, max_length=6)] | None = None
    wants: Annotated[tuple[WantAsked, ...], Field(max_length=50)] = ()
    why: Why = ""

    def to_domain(self) -> PlanChange:
        """Read it."""
        return PlanChange(
            stages=None if self.visits is None else tuple(x.to_domain() for x in self.visits),
            wants=tuple(x.to_domain() for x in self.wants),
        )


class DuplicateAsked(Asked):
    """A copy of a plan as it was planned."""

    why: Why = ""


class ArchiveAsked(Asked):
    """Put a plan away, or take it up again with `away` false."""

    away: bool = Field(default=True, strict=True)
    why: Why = ""


class PlansAsked(Asked):
    """Which plans."""

    limit: int = Field(default=50, ge=1, le=200, description="Most rows in this answer.")
    after: str | None = Field(
        default=None, max_length=32, description="Go on after this plan: `next` of the page before."
    )
    bike: str | None = Field(default=None, max_length=80, description="Plans for this bike.")
    archived: bool = Field(default=False, description="Those that are put away, instead of those in use.")


class PlanSearchAsked(Asked):
    """A piece of a rider's name or contact. It comes in a body, since addresses are written into logs."""

    text: Annotated[Label, Field(min_length=2)]
    limit: Annotated[int, Field(ge=1, le=200), WHOLE] = 50


class RevisionsAsked(Asked):
    """Which page of a plan's history."""

    limit: int = Field(default=50, ge=1, le=200, description="Most rows in this answer.")
    before: int | None = Field(
        default=None, ge=1, le=2**31 - 1, description="Go on before this revision: `next` of the page before."
    )


class RiderTold(Told):
    """Whose plan it is."""

    id: str
    name: str
    contact: str
    added_at: datetime

    @classmethod
    def from_domain(cls, rider: Rider) -> Self:
        """Write it."""
        return cls(id=rider.id, name=rider.name, contact=rider.contact, added_at=rider.added_at)


class MovedTold(Told):
    """Where a plan comes from: the parts of the bike before that come along (`own`), and what the others fetch."""

    plan: str
    bike: str
    own: tuple[PlacementTold, ...]
    sold: tuple[PlacementTold, ...]
    fetched_minor: int

    @classmethod
    def from_domain(cls, moved: Moved, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            plan=moved.plan,
            bike=moved.bike,
            own=placements_told(moved.own, catalog),
            sold=placements_told(moved.sold, catalog),
            fetched_minor=moved.fetched,
        )


class ObstacleTold(Told):
    """Why a plan cannot be done as it is any more: at which visit (0: the bike as it is now), what says so, and about what.

    `clause` names what is asked of any plan; `says` are the sentences of the catalog's `rules`, where such are in the way.
    """

    visit: int | None
    clause: str
    rules: tuple[str, ...]
    says: tuple[str, ...]
    about: str

    @classmethod
    def from_domain(cls, obstacle: Obstacle, catalog: Catalog) -> Self:
        """Write it."""
        known = (catalog.rules[rule] for rule in obstacle.rules if rule in catalog.rules)
        return cls(
            visit=obstacle.visit,
            clause=obstacle.clause,
            rules=obstacle.rules,
            says=tuple(rule.says for rule in known),
            about=obstacle.about,
        )


class StandingTold(Told):
    """What has become of what is left of the plan, under the release that is served now.

    `holds`: as planned, for the same money. `cheaper_now`, `dearer_now`: it can be done as planned, and the cheapest way comes
    to `by_minor` less or more. `changes`: at `visit` it cannot be done as planned, because of `obstacles`; there is another
    way. `no_path`: there is none. `nothing_left`: all is done. `same_minor` is what the very same visits come to now.
    """

    word: StandingWord
    release: str
    on: date
    planned_minor: int
    same_minor: int | None
    now_minor: int | None
    by_minor: int
    visit: int | None
    obstacles: tuple[ObstacleTold, ...]

    @classmethod
    def from_domain(cls, standing: Standing, catalog: Catalog) -> Self:
        """Write it."""
        return cls(
            word=standing.word,
            release=standing.release,
            on=standing.on,
            planned_minor=standing.planned,
            same_minor=standing.same,
            now_minor=standing.now,
            by_minor=standing.by,
            visit=standing.visit,
            obstacles=tuple(ObstacleTold.from_domain(x, catalog) for x in standing.obstacles),
        )


class SavedPlanTold(Told):
    """A plan as it is kept at one revision.

    `question` is what it answers, in the words of `/v1/paths`, with the bike as it was when it was planned; `found_now` is the
    bike as it is since. `made_under` is the release of the plan, its prices and its names. `to_come` names the visits still to
    be done.
    """

    id: str
    revision: int
    state: State
    bike: str
    currency: str
    rider: RiderTold | None
    made_under: str
    planned_on: date
    made_at: datetime
    changed_at: datetime
    archived_at: datetime | None
    question: dict[str, Any]
    found_now: dict[str, Any]
    plan: PlanTold
    done: tuple[VisitDoneTold, ...]
    to_come: tuple[int, ...]
    moved: MovedTold | None

    @classmethod
    def from_domain(
        cls, saved: SavedPlan, pinned: Serving | None, serving: Serving, *, figures: bool = False
    ) -> Self:
        """Write it.

        Args:
            pinned: The release that it was made under, None if it cannot be opened any more: figures are then left out.
            figures: Whether they are told.
        """
        catalog = (pinned or serving).catalog_of(saved.question.found)
        return cls(
            id=saved.id,
            revision=saved.revision,
            state=saved.state,
            bike=saved.bike,
            currency=catalog.shop.currency,
            rider=None if saved.rider is None else RiderTold.from_domain(saved.rider),
            made_under=saved.pinned.release,
            planned_on=saved.pinned.on,
            made_at=saved.made_at,
            changed_at=saved.changed_at,
            archived_at=saved.archived_at,
            question=question_asked(saved.question),
            found_now=found_asked(saved.found_now),
            plan=PlanTold.from_domain(
                _tellable(saved.plan, pinned), figures_then(saved, pinned if figures else None), catalog
            ),
            done=tuple(
                VisitDoneTold.from_domain(x, number, catalog) for number, x in enumerate(saved.done, 1)
            ),
            to_come=tuple(number for number, _ in saved.to_come),
            moved=None if saved.moved is None else MovedTold.from_domain(saved.moved, catalog),
        )


def figures_then(saved: SavedPlan, pinned: Serving | None) -> tuple[VisitFigures, ...]:
    """Give the figures of a plan under its own release; empty ones if nothing answers under that name any more."""
    if pinned is None or pinned.name != saved.pinned.release:
        return tuple(VisitFigures() for _ in saved.plan.visits)
    return pinned.engine.figures(saved.question, saved.plan)


def _tellable(plan: Plan, pinned: Serving | None) -> Plan:
    """Leave out what only its own release has the words for, if that cannot be read any more."""
    if pinned is not None:
        return plan
    return replace(plan, visits=tuple(replace(visit, advice=()) for visit in plan.visits))


class PlanAnswer(Told):
    """A saved plan; or why there was none to save: `no_path`, as `/v1/paths` tells it.

    How it stands, and the figures of its visits, are told where the plan is looked at, and not in answers to changes.
    """

    release: ReleaseNamed
    outcome: Literal["saved", "no_path", "not_verified"]
    saved: SavedPlanTold | None = None
    standing: StandingTold | None = None
    no_path: PathTold | None = None

    @classmethod
    def of_saved(
        cls, saved: SavedPlan, pinned: Serving | None, serving: Serving, standing: Standing | None = None
    ) -> Self:
        """Write a plan that is kept."""
        catalog = serving.catalog_of(saved.question.found)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            outcome="saved",
            saved=SavedPlanTold.from_domain(saved, pinned, serving, figures=standing is not None),
            standing=None if standing is None else StandingTold.from_domain(standing, catalog),
        )

    @classmethod
    def of_no_path(cls, answer: NoPlan, question: PathQuestion, serving: Serving) -> Self:
        """Write why there is none."""
        told = PathTold.from_domain(answer, question, serving)
        return cls(
            release=told.release,
            outcome="no_path" if answer.reason == "conflict" else "not_verified",
            no_path=told,
        )


class WhatIfTold(Told):
    """What a change would make of what is left of a plan; nothing is saved.

    `dearer_by_minor` is what it comes to, less resale, against what is left of the plan as it was saved; null if there is no path.
    """

    release: ReleaseNamed
    question: dict[str, Any]
    answer: PathTold
    left_minor: int
    dearer_by_minor: int | None

    @classmethod
    def from_domain(cls, saved: SavedPlan, asked: Answer, serving: Serving) -> Self:
        """Write it."""
        told = PathTold.from_domain(asked.plan, asked.question, serving)
        left = sum(visit.spent - visit.resale for _, visit in saved.to_come)
        return cls(
            release=told.release,
            question=question_asked(asked.question),
            answer=told,
            left_minor=left,
            dearer_by_minor=asked.plan.total - left if isinstance(asked.plan, Plan) else None,
        )


class PlanListedTold(Told):
    """A plan as lists show it."""

    id: str
    revision: int
    bike: str
    state: State
    made_under: str
    rider: RiderTold | None
    made_at: datetime
    changed_at: datetime
    archived_at: datetime | None

    @classmethod
    def from_domain(cls, plan: PlanListed) -> Self:
        """Write it."""
        names = ("id", "revision", "bike", "state", "made_at", "changed_at", "archived_at")
        rider = None if plan.rider is None else RiderTold.from_domain(plan.rider)
        told = {name: getattr(plan, name) for name in names}
        return cls(made_under=plan.release, rider=rider, **told)


class PlansTold(PageTold):
    """Saved plans, the last that was changed first."""

    plans: tuple[PlanListedTold, ...]

    @classmethod
    def from_domain(cls, found: list[PlanListed], limit: int, serving: Serving) -> Self:
        """Write a page; one plan more than it has was looked for."""
        shown, complete = found[:limit], len(found) <= limit
        return cls(
            release=ReleaseNamed.from_domain(serving),
            complete=complete,
            next=None if complete else shown[-1].id,
            plans=tuple(map(PlanListedTold.from_domain, shown)),
        )


class RevisionTold(Told):
    """One change of a plan: what was done, by the holder of which key, when and why."""

    number: int
    kind: ChangeWord
    by: str
    at: datetime
    why: str
    state: State
    made_under: str
    total_minor: int

    @classmethod
    def from_domain(cls, revision: Revision) -> Self:
        """Write it."""
        plan = revision.plan
        return cls(
            number=revision.number,
            kind=revision.kind,
            by=revision.by,
            at=revision.at,
            why=revision.why,
            state=plan.state,
            made_under=plan.pinned.release,
            total_minor=plan.plan.total,
        )


def revisions_told(revisions: Iterable[Revision]) -> tuple[RevisionTold, ...]:
    """Write several in their order."""
    return tuple(map(RevisionTold.from_domain, revisions))


class RevisionsTold(PageTold):
    """The history of a plan, the newest first."""

    plan: str
    revisions: tuple[RevisionTold, ...]

    @classmethod
    def from_domain(cls, plan: str, found: list[Revision], limit: int, serving: Serving) -> Self:
        """Write a page; one revision more than it has was looked for."""
        shown, complete = found[:limit], len(found) <= limit
        return cls(
            release=ReleaseNamed.from_domain(serving),
            complete=complete,
            next=None if complete else str(shown[-1].number),
            plan=plan,
            revisions=revisions_told(shown),
        )


class RevisionAnswer(Told):
    """A plan as it was after one change."""

    release: ReleaseNamed
    revision: RevisionTold
    saved: SavedPlanTold

    @classmethod
    def from_domain(cls, revision: Revision, pinned: Serving | None, serving: Serving) -> Self:
        """Write it."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            revision=RevisionTold.from_domain(revision),
            saved=SavedPlanTold.from_domain(revision.plan, pinned, serving),
        )
