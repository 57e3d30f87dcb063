"""A saved plan: a question with its answer under one release, and the visits that were done since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal, get_args

from rules.answer import Plan, Visit
from rules.build import AsFound, Placement
from rules.done import VisitDone, found_after
from rules.question import PathQuestion
from service.plans.trouble import UnknownVisit

State = Literal["planned", "under_way", "finished"]
STATES: tuple[State, ...] = get_args(State)
"""Nothing is done yet; something is done, and more is to come; nothing is left to do."""

ChangeWord = Literal[
    "made",
    "planned_anew",
    "visit_done",
    "corrected",
    "tested",
    "moved",
    "duplicated",
    "rider",
    "archived",
    "taken_up",
]
"""What happened to a plan; `taken_up` is the reverse of `archived`."""


LONGEST_SHARE_DAYS = 366
"""A link that works for longer would outlive its reason."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NewRider:
    """What is known of a rider who is written down."""

    name: str
    contact: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rider:
    """Whose plan it is. All personal data is here, apart from the plan, so that it can be erased."""

    id: str
    name: str
    contact: str
    added_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Pinned:
    """What a plan was made under: the name of the release (`Serving.name`), which has the engine revision, and the day."""

    release: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """A plan for the next bike: the parts that come along, from which plan and bike.

    Attributes:
        own: Where the rider's own parts go on the next bike.
        sold: What does not come along, and `fetched` what it fetches on the first day [minor units].
    """

    plan: str
    bike: str
    found: AsFound
    own: tuple[Placement, ...] = ()
    sold: tuple[Placement, ...] = ()
    fetched: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SavedPlan:
    """What is kept of a plan at one revision.

    Attributes:
        id: 128 random bits: who has it was given it.
        revision: Counts every change from 1.
        question: That the plan answers; its bike as found is the bike when the plan was made.
        done: Every visit that was ever done, in order, over all plannings.
        planned_after: How many of those the question counts as found: the others are visits of this plan.
        corrected_found: The bike as it was when this was planned, where the record of a visit before was put right since
            and the question says otherwise; else None.
        moved: Where it comes from, if it was moved from another bike.
        archived_at: When it was put away, None if it is in use.
    """

    id: str
    revision: int
    question: PathQuestion
    plan: Plan
    pinned: Pinned
    done: tuple[VisitDone, ...] = ()
    planned_after: int = 0
    corrected_found: AsFound | None = None
    moved: Moved | None = None
    rider: Rider | None = None
    archived_at: datetime | None = None
    made_at: datetime
    changed_at: datetime

    @property
    def bike(self) -> str:
        """The bike's id."""
        return self.question.bike

    @property
    def done_here(self) -> tuple[VisitDone, ...]:
        """Give the visits of this plan that were done."""
        return self.done[self.planned_after :]

    @property
    def found_then(self) -> AsFound:
        """Give the bike as it was when this was planned, by what is known today."""
        return self.question.found if self.corrected_found is None else self.corrected_found

    @property
    def found_now(self) -> AsFound:
        """Give the bike as it is now."""
        return found_after(self.found_then, self.done_here)

    def visit_done(self, number: int) -> VisitDone:
        """Give a visit that was done, by its number over all of them, counted from 1.

        Raises:
            UnknownVisit: There is none.
        """
        if not 1 <= number <= len(self.done):
            raise UnknownVisit(str(number), ())
        return self.done[number - 1]

    @property
    def to_come(self) -> tuple[tuple[int, Visit], ...]:
        """Give the visits on which something is still to be done, each with its number in the plan."""
        over = max((x.visit for x in self.done_here), default=0)
        return tuple(
            (number, visit)
            for number, visit in enumerate(self.plan.visits, 1)
            if number > over and not visit.is_empty
        )

    @property
    def is_as_planned(self) -> bool:
        """Tell whether every visit of this plan that was done was done as planned, and none was left out."""
        due = [number for number, visit in enumerate(self.plan.visits, 1) if not visit.is_empty]
        did = [x.visit for x in self.done_here]
        return all(x.as_planned for x in self.done_here) and did == due[: len(did)]

    @property
    def state(self) -> State:
        """How far it has come."""
        if self.to_come:
            return "under_way" if self.done else "planned"
        return "finished"


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One change of a plan: what was done, by the holder of which key, when and why, and the plan after it."""

    number: int
    kind: ChangeWord
    by: str
    at: datetime
    why: str
    plan: SavedPlan


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanListed:
    """A plan as lists show it."""

    id: str
    revision: int
    bike: str
    state: State
    release: str
    rider: Rider | None
    archived_at: datetime | None
    made_at: datetime
    changed_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """A link with which somebody reads a plan. Its secret is shown once, and only a digest of it is kept."""

    id: str
    plan: str
    by: str
    made_at: datetime
    ends_at: datetime
    withdrawn_at: datetime | None

    def works(self, at: datetime) -> bool:
        """Tell whether it still opens the plan."""
        return self.withdrawn_at is None and at < self.ends_at
