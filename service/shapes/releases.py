"""Releases on their way: uploads, checks, activations, the way back, and the history of it all."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime
from typing import Annotated, Literal, Self

from pydantic import Field

from rules.diagnostics import Diagnostic, to_dict
from rules.impact import Acknowledgement
from service.plans.standing import StandingWord
from service.releasing.outcome import (
    ChangeGroup,
    FailedCase,
    ImpactSeen,
    Kept,
    PlansSeen,
    PlanStands,
    Refused,
    Step,
)
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, Day, Id, Told
from service.shapes.catalog import Counts
from service.shapes.page import PageTold
from service.shapes.release import ReleaseNamed
from service.store.events import Event, Kind, Standing
from service.store.kept import CasesAsked, KeptRelease

SHOWN = 200
"""Diagnostics and cases that a refusal tells one by one; it says how many there are."""

Why = Annotated[str, Field(min_length=1, max_length=500)]
ReleaseId = Annotated[str, Field(min_length=1, max_length=40)]


class KeptReleasesAsked(Asked):
    """Which page of the kept releases."""

    limit: int = Field(default=50, ge=1, le=200, description="Most rows in this answer.")
    after: str | None = Field(
        default=None, max_length=40, description="Go on after this id: `next` of the page before."
    )


class HistoryAsked(Asked):
    """Which page of the history."""

    limit: int = Field(default=50, ge=1, le=200, description="Most rows in this answer.")
    before: int | None = Field(
        default=None, ge=1, le=2**31 - 1, description="Go on before this event: `next` of the page before."
    )


class UploadAsked(Asked):
    """What is said beside an upload."""

    why: str = Field(default="", max_length=500, description="What is new in this release, for the history.")


class AcknowledgementAsked(Asked):
    """Somebody has looked at a change of answers and wants it. `change` is what an impact calls it."""

    change: Annotated[str, Field(min_length=1, max_length=64)]
    who: Annotated[str, Field(min_length=1, max_length=200)]
    on: Day
    why: Why

    def to_domain(self) -> Acknowledgement:
        """Read it."""
        return Acknowledgement(change=self.change, who=self.who, on=self.on, why=self.why)


class ActivationAsked(Asked):
    """Serve this release.

    `on` is the day from which changed answers count, today if it is left out: acknowledge an impact for its own day.
    `instead_of` is the release that you believe to be served now: if it is another by then, nothing is done.
    """

    release: ReleaseId
    why: Why
    on: Day | None = None
    instead_of: ReleaseId | None = None
    acknowledgements: Annotated[tuple[AcknowledgementAsked, ...], Field(max_length=1_000)] = ()


class ImpactAsked(Asked):
    """From which day answers count, today if it is left out, and against which release, the one that is served if that is."""

    on: Day | None = Field(default=None, description="The day from which changed answers count.")
    against: str | None = Field(default=None, max_length=40, description="The release to compare with.")


class RollbackAsked(Asked):
    """Go back: to the release that was served before the present one, or to another of the last twenty."""

    why: Why
    release: ReleaseId | None = None


class HoldAsked(Asked):
    """Stop selling a part. `says` is the reason, as shoppers are told it; without `first` it counts from today."""

    part: Id
    says: Why
    first: Day | None = None
    last: Day | None = None


class LiftAsked(Asked):
    """Sell a part again. `hold` is the number of the event that set the hold."""

    hold: Annotated[int, Field(ge=1, le=2**31 - 1), WHOLE]
    why: Why


class DiagnosticTold(Told):
    """One fault of a catalog, and its place in the files. Lines and columns count from 1."""

    code: str
    severity: Literal["error", "warning"]
    message: str
    file: str
    line: int
    column: int
    end_column: int
    why: str
    hint: str

    @classmethod
    def from_domain(cls, diagnostic: Diagnostic) -> Self:
        """Write a diagnostic."""
        return cls.model_validate(to_dict(diagnostic))


class FailedCaseTold(Told):
    """A case that comes out otherwise than its author expects: a line for each difference."""

    name: str
    differences: tuple[str, ...]

    @classmethod
    def from_domain(cls, case: FailedCase) -> Self:
        """Write a case."""
        return cls(name=case.name, differences=case.differences)


class TurnTold(Told):
    """How many answers turn from one outcome into another; `none` where there is nothing to ask."""

    before: str
    after: str
    answers: int


class AnswersChangedTold(Told):
    """Answers that change for the same reasons. To want it, acknowledge `change`.

    `least_minor` and `most_minor` are the smallest and largest change of a total, null where no total changes.
    """

    change: str
    is_acknowledged: bool
    because: tuple[str, ...]
    answers: int
    turns: tuple[TurnTold, ...]
    least_minor: int | None
    most_minor: int | None
    examples: tuple[str, ...]

    @classmethod
    def from_domain(cls, group: ChangeGroup) -> Self:
        """Write a group."""
        least, most = group.money or (None, None)
        return cls(
            change=group.change,
            is_acknowledged=group.is_acknowledged,
            because=group.because,
            answers=group.answers,
            turns=tuple(TurnTold(before=x, after=y, answers=count) for x, y, count in group.turns),
            least_minor=least,
            most_minor=most,
            examples=group.examples,
        )


class PlanStandsTold(Told):
    """A saved plan that would not stand as it was made.

    `visit` is the first that could not be done as planned, counted from 1; 0 if the bike itself would be another. `because` says
    what would be in its way.
    """

    plan: str
    bike: str
    word: StandingWord
    visit: int | None
    because: tuple[str, ...]
    planned_minor: int
    now_minor: int | None

    @classmethod
    def from_domain(cls, stands: PlanStands) -> Self:
        """Write it."""
        return cls(
            plan=stands.plan,
            bike=stands.bike,
            word=stands.word,
            visit=stands.visit,
            because=stands.because,
            planned_minor=stands.planned,
            now_minor=stands.now,
        )


class PlansSeenTold(Told):
    """What a release would do to saved plans on which something is still to be done.

    `touched` counts those that depend on something that differs: only these were planned again. `changed` are those of them that
    would not hold. Of more than a thousand plans, those that were changed last are looked at.
    """

    looked_at: int
    touched: int
    changed: tuple[PlanStandsTold, ...]

    @classmethod
    def from_domain(cls, seen: PlansSeen) -> Self:
        """Write it."""
        changed = tuple(PlanStandsTold.from_domain(stands) for stands in seen.changed)
        return cls(looked_at=seen.looked_at, touched=seen.touched, changed=changed)


class ImpactTold(Told):
    """Which answers would change, the largest group first, and what becomes of saved plans."""

    against: str
    on: date
    answers: int
    changes: tuple[AnswersChangedTold, ...]
    plans: PlansSeenTold

    @classmethod
    def from_domain(cls, seen: ImpactSeen) -> Self:
        """Write an impact."""
        changes = tuple(AnswersChangedTold.from_domain(group) for group in seen.groups)
        plans = PlansSeenTold.from_domain(seen.plans)
        return cls(against=seen.against, on=seen.on, answers=seen.answers, changes=changes, plans=plans)


class ImpactAnswer(Told):
    """An impact, and which release answers now."""

    release: ReleaseNamed
    impact: ImpactTold

    @classmethod
    def from_domain(cls, seen: ImpactSeen, serving: Serving) -> Self:
        """Write it."""
        return cls(release=ReleaseNamed.from_domain(serving), impact=ImpactTold.from_domain(seen))


class RefusedTold(Told):
    """Why a release was refused. Of many diagnostics or cases the first are listed; `says` counts them."""

    step: Step
    says: str
    diagnostics: tuple[DiagnosticTold, ...]
    failed_cases: tuple[FailedCaseTold, ...]
    impact: ImpactTold | None

    @classmethod
    def from_domain(cls, refused: Refused) -> Self:
        """Write a refusal."""
        return cls(
            step=refused.step,
            says=refused.says,
            diagnostics=diagnostics_told(refused.diagnostics),
            failed_cases=tuple(FailedCaseTold.from_domain(case) for case in refused.failed[:SHOWN]),
            impact=ImpactTold.from_domain(refused.impact) if refused.impact else None,
        )


def diagnostics_told(diagnostics: Iterable[Diagnostic]) -> tuple[DiagnosticTold, ...]:
    """Write the first of several diagnostics."""
    return tuple(DiagnosticTold.from_domain(diagnostic) for diagnostic in [*diagnostics][:SHOWN])


class CasesAskedTold(Told):
    """How often a release's cases came out as they should, and under which revision of the engine they were asked."""

    engine_revision: int
    passed: int
    failed: int

    @classmethod
    def from_domain(cls, asked: CasesAsked) -> Self:
        """Write it."""
        return cls(engine_revision=asked.engine_revision, passed=asked.passed, failed=asked.failed)


class KeptReleaseTold(Told):
    """A kept release. `cases` is null until they have been asked."""

    id: str
    kept_at: datetime
    kept_by: str
    counts: Counts
    cases: CasesAskedTold | None
    is_served: bool

    @classmethod
    def from_domain(cls, kept: KeptRelease, serving: Serving) -> Self:
        """Write a kept release."""
        return cls(
            id=kept.id,
            kept_at=kept.kept_at,
            kept_by=kept.kept_by,
            counts=Counts.model_validate(kept.counts),
            cases=CasesAskedTold.from_domain(kept.cases) if kept.cases else None,
            is_served=kept.id == serving.release.id,
        )


class UploadTold(Told):
    """What came of an upload. `kept` is null if it was refused; warnings alone do not refuse."""

    release: ReleaseNamed
    outcome: Literal["kept", "was_kept_before", "refused"]
    kept: KeptReleaseTold | None
    warnings: tuple[DiagnosticTold, ...]
    refused: RefusedTold | None

    @classmethod
    def from_domain(cls, outcome: Kept | Refused, serving: Serving) -> Self:
        """Write an outcome."""
        release = ReleaseNamed.from_domain(serving)
        if isinstance(outcome, Refused):
            refused = RefusedTold.from_domain(outcome)
            return cls(release=release, outcome="refused", kept=None, warnings=(), refused=refused)
        return cls(
            release=release,
            outcome="kept" if outcome.is_new else "was_kept_before",
            kept=KeptReleaseTold.from_domain(outcome.release, serving),
            warnings=diagnostics_told(outcome.diagnostics),
            refused=None,
        )


class KeptReleasesTold(PageTold):
    """Kept releases, the last that was kept first."""

    releases: tuple[KeptReleaseTold, ...]

    @classmethod
    def from_domain(cls, found: list[KeptRelease], limit: int, serving: Serving) -> Self:
        """Write a page, of which one row more was looked up than is shown."""
        shown, complete = found[:limit], len(found) <= limit
        return cls(
            release=ReleaseNamed.from_domain(serving),
            complete=complete,
            next=None if complete else shown[-1].id,
            releases=tuple(KeptReleaseTold.from_domain(kept, serving) for kept in shown),
        )


class KeptReleaseAnswer(Told):
    """One kept release, and which release answers."""

    release: ReleaseNamed
    kept: KeptReleaseTold

    @classmethod
    def from_domain(cls, kept: KeptRelease, serving: Serving) -> Self:
        """Write it."""
        return cls(release=ReleaseNamed.from_domain(serving), kept=KeptReleaseTold.from_domain(kept, serving))


class EventTold(Told):
    """Something that happened, with who did it, when, and why.

    `activated` and `rolled_back` name the `about` release that is served since; `refused` says in `detail` what
    was wrong with one. `held` stops selling `part` from `first` through `last`; `lifted` ends the hold of that number.
    """

    number: int
    kind: Kind
    about: str | None
    part: str | None
    first: date | None
    last: date | None
    lifts: int | None
    why: str
    detail: str
    by: str
    at: datetime

    @classmethod
    def from_domain(cls, event: Event) -> Self:
        """Write an event."""
        return cls(
            number=event.number,
            kind=event.kind,
            about=event.release,
            part=event.part,
            first=event.first,
            last=event.last,
            lifts=event.lifts,
            why=event.why,
            detail=event.detail,
            by=event.by,
            at=event.at,
        )


class HistoryTold(Told):
    """What happened, the latest first. If it is not complete, ask again with `before` set to `next`."""

    release: ReleaseNamed
    complete: bool
    next: int | None
    events: tuple[EventTold, ...]

    @classmethod
    def from_domain(cls, found: list[Event], limit: int, serving: Serving) -> Self:
        """Write a page, of which one row more was looked up than is shown."""
        shown, complete = found[:limit], len(found) <= limit
        return cls(
            release=ReleaseNamed.from_domain(serving),
            complete=complete,
            next=None if complete else shown[-1].number,
            events=tuple(EventTold.from_domain(event) for event in shown),
        )


class ActivationTold(Told):
    """What came of an activation. `release` answers now: the new one, or the one before if it was refused."""

    release: ReleaseNamed
    outcome: Literal["activated", "refused"]
    event: EventTold | None
    refused: RefusedTold | None

    @classmethod
    def from_domain(cls, outcome: Event | Refused, serving: Serving) -> Self:
        """Write an outcome."""
        release = ReleaseNamed.from_domain(serving)
        if isinstance(outcome, Refused):
            refused = RefusedTold.from_domain(outcome)
            return cls(release=release, outcome="refused", event=None, refused=refused)
        event = EventTold.from_domain(outcome)
        return cls(release=release, outcome="activated", event=event, refused=None)


class EventAnswer(Told):
    """One event, and which release answers since."""

    release: ReleaseNamed
    event: EventTold

    @classmethod
    def from_domain(cls, event: Event, serving: Serving) -> Self:
        """Write it."""
        return cls(release=ReleaseNamed.from_domain(serving), event=EventTold.from_domain(event))


class HoldsTold(Told):
    """The holds that are set, each by the event that set it."""

    release: ReleaseNamed
    holds: tuple[EventTold, ...]

    @classmethod
    def from_domain(cls, standing: Standing, serving: Serving) -> Self:
        """Write them."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            holds=tuple(EventTold.from_domain(event) for event in standing.holds),
        )
