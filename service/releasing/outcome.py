"""What comes of a manager's work: a release is kept, or refused with its reasons."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from rules.diagnostics import Diagnostic
from rules.errors import LoomwayError, UnknownId
from service.plans.standing import StandingWord
from service.store.kept import KeptRelease

Step = Literal["files", "check", "cases", "impact"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FailedCase:
    """A case that comes out otherwise than its author expects."""

    name: str
    differences: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangeGroup:
    """Answers that change for the same reasons.

    Attributes:
        change: What an acknowledgement names: it follows from the reasons and every changed answer.
        because: What differs between the releases, in sentences.
        turns: How many answers turn from one outcome into another.
        money: The smallest and the largest change of a total [minor units], None where no total changes.
        examples: A few of the questions.
    """

    change: str
    because: tuple[str, ...]
    answers: int
    turns: tuple[tuple[str, str, int], ...]
    money: tuple[int, int] | None
    examples: tuple[str, ...]
    is_acknowledged: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanStands:
    """A saved plan that would not stand as it was made. Money in minor units.

    Attributes:
        word: What becomes of it, as `rules.impact.plans` has it.
        visit: The first that cannot be done as planned, counted from 1; 0 if the bike itself would be another.
        because: What is in its way: clause, rules, and what it is about.
        planned: What is left of it came to when it was made, and `now` what the cheapest way would come to.
    """

    plan: str
    bike: str
    word: StandingWord
    visit: int | None
    because: tuple[str, ...]
    planned: int
    now: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlansSeen:
    """What a release does to saved plans on which something is still to be done.

    Attributes:
        looked_at: How many there are.
        touched: How many of them depend on something that differs; only these were planned again.
        changed: Those of them that do not hold.
    """

    looked_at: int = 0
    touched: int = 0
    changed: tuple[PlanStands, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ImpactSeen:
    """What a release changes against the one that is served, counting from a day."""

    against: str
    on: date
    answers: int
    groups: tuple[ChangeGroup, ...]
    plans: PlansSeen = PlansSeen()

    @property
    def waiting(self) -> tuple[ChangeGroup, ...]:
        """Give the groups that nobody has acknowledged."""
        return tuple(group for group in self.groups if not group.is_acknowledged)


class NotAnArchive(LoomwayError):  # noqa: N818 -- named for what the caller did
    """An upload says that it is of another kind than an archive."""


class UnknownKept(UnknownId):
    """No kept release has this id, or none that may be gone back to."""

    what = "release"


class UnknownHold(UnknownId):
    """No hold that is set has this number."""

    what = "hold"


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A catalog was sound, and is kept. `is_new`: it was not there before."""

    release: KeptRelease
    diagnostics: tuple[Diagnostic, ...]
    is_new: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """A catalog did not pass a step; what was served before is served on.

    Attributes:
        says: Why, in a sentence that anybody may read: it names no place in the files.
        release: Its id, if it has one: files that cannot be read have none.
    """

    step: Step
    says: str
    release: str | None = None
    diagnostics: tuple[Diagnostic, ...] = ()
    failed: tuple[FailedCase, ...] = ()
    impact: ImpactSeen | None = None
