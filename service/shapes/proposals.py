"""What a rider tells at the counter, and the whole systems that are proposed for it."""

from __future__ import annotations

from typing import Annotated, Any, Literal, Self

from pydantic import Field

from rules.answer import NoPlan
from rules.proposals import (
    Annoys,
    Basis,
    Brief,
    Listens,
    NotProposed,
    Passenger,
    Proposal,
    Proposals,
    Reason,
    Rides,
)
from service.plans.form import question_asked
from service.serving import Serving
from service.shapes.base import Asked, Flag, Id, Minor, Told
from service.shapes.found import FoundAsked
from service.shapes.paths import ConflictTold, PathTold, VisitAsked, YearBudgetAsked, budgets_by_year
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.release import ReleaseNamed


class BriefAsked(Asked):
    """What a rider tells. What is left out was not asked yet, and is then asked for.

    `found` is the bike as it was found; `{}` says that nothing was changed since it left the works. `visits` are today's and
    later ones, each with who fits and what it may cost.
    """

    bike: Id
    found: FoundAsked | None = None
    visits: Annotated[tuple[VisitAsked, ...], Field(max_length=6)] = ()
    budget_minor: Minor | None = None
    year_budgets: Annotated[tuple[YearBudgetAsked, ...], Field(max_length=20)] = ()
    rides: Rides | None = None
    passenger: Passenger | None = None
    listens: Annotated[tuple[Listens, ...], Field(max_length=10)] = ()
    annoys: Annotated[tuple[Annoys, ...], Field(max_length=10)] = ()
    parked: Flag = False
    functions: Annotated[tuple[Id, ...], Field(max_length=10)] = ()
    colour: Id | None = None

    def to_domain(self) -> Brief:
        """Read it.

        Raises:
            MalformedQuestion: A year has two budgets.
        """
        return Brief(
            bike=self.bike,
            found=None if self.found is None else self.found.to_domain(),
            stages=tuple(x.to_domain() for x in self.visits),
            budget=self.budget_minor,
            year_budgets=budgets_by_year(self.year_budgets),
            rides=self.rides,
            passenger=self.passenger,
            listens=frozenset(self.listens),
            annoys=frozenset(self.annoys),
            parked=self.parked,
            functions=self.functions,
            colour=self.colour,
        )


class ReasonTold(Told):
    """Why a system is proposed, or what to mind with it.

    `answers` names what the rider said. `cites` is the id of a calculation or of a rule; of common practice it says that this
    has no source.
    """

    says: str
    answers: tuple[str, ...]
    basis: Basis
    cites: str
    source: str

    @classmethod
    def from_domain(cls, reason: Reason) -> Self:
        """Write it."""
        return cls(
            says=reason.says,
            answers=reason.answers,
            basis=reason.basis,
            cites=reason.cites,
            source=reason.source,
        )


class ProposalTold(Told):
    """One whole system, named by what it is, with its cheapest way. `question` asks for it again, or saves it."""

    name: str
    zones: tuple[str, ...]
    amplified: bool
    total_minor: int
    first_visit_minor: int
    stays: tuple[PlacementTold, ...]
    reasons: tuple[ReasonTold, ...]
    question: dict[str, Any]
    path: PathTold

    @classmethod
    def from_domain(cls, proposal: Proposal, serving: Serving) -> Self:
        """Write it."""
        catalog = serving.catalog_of(proposal.question.found)
        return cls(
            name=proposal.name,
            zones=proposal.system.zones,
            amplified=proposal.system.amplified,
            total_minor=proposal.plan.total,
            first_visit_minor=proposal.plan.visits[0].spent,
            stays=placements_told(proposal.stays, catalog),
            reasons=tuple(map(ReasonTold.from_domain, proposal.reasons)),
            question=question_asked(proposal.question),
            path=PathTold.from_domain(proposal.plan, proposal.question, serving),
        )


class NotProposedTold(Told):
    """A system that was looked for and has no path. Without `conflicts`, nothing for sale could be in one of its zones."""

    name: str
    reason: Literal["conflict", "not_verified", "nothing_for_sale"]
    conflicts: tuple[ConflictTold, ...]

    @classmethod
    def from_domain(cls, none: NotProposed) -> Self:
        """Write it."""
        answer = none.answer or NoPlan(reason="conflict")
        return cls(
            name=none.name,
            reason=answer.reason if none.answer else "nothing_for_sale",
            conflicts=tuple(map(ConflictTold.from_domain, answer.conflicts)),
        )


class UnaskedTold(Told):
    """Something that must be asked first, in words for the rider."""

    field: str
    ask: str


class ProposalsTold(Told):
    """Up to three systems that differ in what they are, the cheapest first; or what must be asked first (`unasked`)."""

    release: ReleaseNamed
    outcome: Literal["proposals", "none", "unasked"]
    bike: str
    currency: str
    proposals: tuple[ProposalTold, ...]
    not_proposed: tuple[NotProposedTold, ...]
    unasked: tuple[UnaskedTold, ...]

    @classmethod
    def from_domain(cls, answer: Proposals, brief: Brief, serving: Serving) -> Self:
        """Write an answer."""
        none: Literal["none", "unasked"] = "unasked" if answer.unasked else "none"
        return cls(
            release=ReleaseNamed.from_domain(serving),
            outcome="proposals" if answer.proposals else none,
            bike=brief.bike,
            currency=serving.catalog.shop.currency,
            proposals=tuple(ProposalTold.from_domain(x, serving) for x in answer.proposals),
            not_proposed=tuple(map(NotProposedTold.from_domain, answer.not_proposed)),
            unasked=tuple(UnaskedTold(field=x.field, ask=x.ask) for x in answer.unasked),
        )
