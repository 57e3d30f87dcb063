"""What a catalog manager does: take in, activate, roll back, hold. Used alike by the command and by the API."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from typing import Literal

from rules.impact import Acknowledgement
from rules.release import ENGINE_REVISION
from service.plans.keeper import PlanKeeper
from service.plans.saved import SavedPlan
from service.releasing.examine import Run, Unsound, ask_cases, check_files, here, see_impact
from service.releasing.files import FilesRefused
from service.releasing.outcome import ImpactSeen, Kept, Refused, UnknownHold, UnknownKept
from service.store.database import Database
from service.store.errors import DamagedRelease
from service.store.events import Event, NewEvent, Overtaken
from service.store.history import History
from service.store.kept import CasesAsked, KeptRelease
from service.store.releases import ReleaseStore

MOST_PLANS = 1_000
"""Saved plans that an impact looks over, those that were changed last; planning one anew takes up to seconds."""

ROLL_BACK = 20
"""Releases served before, to any of which one command goes back."""


def _nothing(_: str) -> None:
    """Tell nobody."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Manager:
    """Works on one database.

    Attributes:
        by: Who is at work, for the history.
        run: How the long steps are taken.
        tell: Told of each step once it is done, for a person who waits.
    """

    database: Database
    by: str
    run: Run = here
    tell: Callable[[str], None] = _nothing
    now: Callable[[], datetime] = field(default=lambda: datetime.now(UTC))

    @property
    def releases(self) -> ReleaseStore:
        """The kept releases."""
        return ReleaseStore(self.database)

    @property
    def history(self) -> History:
        """What happened."""
        return History(self.database)

    def take_in(self, archive: bytes, why: str) -> Kept | Refused:
        """Check a catalog, and keep it if it is sound. What is served stays as it is.

        Raises:
            NoRoom, StepDied, StoreLost, StoreFull: Nothing was kept.
        """
        try:
            found = self.run(check_files, archive)
        except FilesRefused as error:
            return self._refuse(Refused(step="files", says=str(error)), why)
        if isinstance(found, Unsound):
            errors = [x for x in found.diagnostics if x.severity == "error"]
            says = f"{_many(len(errors), 'error')}, the first of them {errors[0].code}"
            return self._refuse(Refused(step="check", says=says, diagnostics=found.diagnostics), why)
        self.tell("checked")
        is_new = self.releases.keep(
            found.release,
            archive=found.archive,
            stored=found.stored,
            counts=found.counts,
            by=self.by,
            at=self.now(),
        )
        self.tell("kept")
        return Kept(release=self.kept(found.release), diagnostics=found.diagnostics, is_new=is_new)

    def activate(
        self,
        release: str,
        why: str,
        *,
        on: date | None = None,
        instead_of: str | None = None,
        acknowledgements: tuple[Acknowledgement, ...] = (),
    ) -> Event | Refused:
        """Serve a kept release, if its cases come out as they should and somebody wants every change of an answer.

        Args:
            on: The day from which changed answers count; left out, today by UTC.
            instead_of: The release that the manager believes to be served now; left out, whichever is.
            acknowledgements: Which changes somebody wants. The first release of all changes nothing.

        Raises:
            UnknownKept: No such release is kept.
            Overtaken: Another release is served than the manager believes, or came to be served meanwhile.
            DamagedRelease, StepDied, StoreLost, StoreFull: What was served is served on.
        """
        kept = self.kept(release)
        standing = self.history.standing()
        before = standing.release
        if instead_of is not None and instead_of != before:
            raise Overtaken(standing)
        refused = self._ask_cases(kept) or self._weigh(kept, before, on, acknowledgements)
        if refused is not None:
            return self._refuse(refused, why)
        return self._serve("activated", release, why, before)

    def _weigh(
        self,
        kept: KeptRelease,
        before: str | None,
        on: date | None,
        acknowledgements: tuple[Acknowledgement, ...],
    ) -> Refused | None:
        if before is None or before == kept.id:
            return None
        seen = self.impact(kept.id, before, on or self.now().date(), acknowledgements)
        self.tell("impact seen")
        if not seen.waiting:
            return None
        answers = sum(group.answers for group in seen.waiting)
        says = f"{_many(answers, 'answer')} would change, and nobody has acknowledged it"
        return Refused(step="impact", says=says, release=kept.id, impact=seen)

    def impact(
        self, release: str, against: str, on: date, acknowledgements: tuple[Acknowledgement, ...] = ()
    ) -> ImpactSeen:
        """Compare every answer of a kept release with another's, and tell what becomes of saved plans.

        Raises:
            UnknownKept: One of them is not kept.
        """
        old, new = (self._content(self.kept(x).id) for x in (against, release))
        return self.run(see_impact, old, new, against, on, acknowledgements, self._plans())

    def _plans(self) -> tuple[SavedPlan, ...]:
        """Give the saved plans that are in use, those that were changed last first."""
        keeper = PlanKeeper(database=self.database, by=self.by)
        return tuple(keeper.get(x.id) for x in keeper.listed(MOST_PLANS, archived=False))

    def _ask_cases(self, kept: KeptRelease) -> Refused | None:
        if kept.cases and kept.cases.engine_revision == ENGINE_REVISION and not kept.cases.failed:
            return None
        told = self.run(ask_cases, *self._content(kept.id))
        asked = CasesAsked(engine_revision=ENGINE_REVISION, passed=told.passed, failed=len(told.failed))
        self.releases.note_cases(kept.id, asked)
        if told.is_sound:
            self.tell("cases asked")
            return None
        says = (
            f"{_many(len(told.failed), 'case')} of {told.passed + len(told.failed)} come out otherwise"
            if told.failed
            else "it has no cases, and a release without cases proves nothing"
        )
        return Refused(step="cases", says=says, release=kept.id, failed=told.failed)

    def roll_back(self, why: str, to: str | None = None) -> Event:
        """Serve a release that was served before: the one before the present one, or another of the last twenty.

        Nothing is asked of it again: it has served before, and a manager who goes back is in a hurry.

        Raises:
            UnknownKept: There is none to go back to, or the named one is not among them.
            DamagedRelease, StoreLost, StoreFull, Overtaken: What was served is served on.
        """
        served = self.history.served(1 + ROLL_BACK)
        before = served[1:]
        target = to if to is not None else next(iter(before), "")
        if target not in before:
            raise UnknownKept(target, before)
        self._content(target)
        return self._serve("rolled_back", target, why, served[0])

    def _serve(
        self, kind: Literal["activated", "rolled_back"], release: str, why: str, before: str | None
    ) -> Event:
        entry = NewEvent(kind=kind, release=release, by=self.by, at=self.now(), why=why)
        event = self.history.add(entry, instead_of=before)
        self.tell("served")
        return event

    def hold(self, part: str, says: str, first: date, last: date | None = None) -> Event:
        """Stop selling a part, under this release and all later ones, until the hold is lifted.

        Args:
            says: The reason, as shoppers are told it.
        """
        entry = NewEvent(kind="held", part=part, first=first, last=last, by=self.by, at=self.now(), why=says)
        return self.history.add(entry)

    def lift(self, number: int, why: str) -> Event:
        """Sell a part again.

        Raises:
            UnknownHold: No hold of this number is set.
        """
        numbers = [str(hold.number) for hold in self.history.standing().holds]
        if str(number) not in numbers:
            raise UnknownHold(str(number), numbers)
        return self.history.add(NewEvent(kind="lifted", lifts=number, by=self.by, at=self.now(), why=why))

    def kept(self, release: str) -> KeptRelease:
        """Give a kept release.

        Raises:
            UnknownKept: There is none of this id.
        """
        found = self.releases.find(release)
        if found is None:
            raise UnknownKept(release, [x.id for x in self.releases.newest(100)])
        return found

    def _content(self, release: str) -> tuple[bytes, bytes]:
        stored, archive = self.releases.stored(release), self.releases.archive(release)
        if stored is None or archive is None:
            raise DamagedRelease(release)
        return stored, archive

    def _refuse(self, refused: Refused, why: str) -> Refused:
        detail = f"{refused.step}: {refused.says}"
        entry = NewEvent(
            kind="refused", release=refused.release, by=self.by, at=self.now(), why=why, detail=detail
        )
        self.history.add(entry)
        self.tell("refused")
        return refused


def _many(number: int, thing: str) -> str:
    return f"{number} {thing}{'' if number == 1 else 's'}"
