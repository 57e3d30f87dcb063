"""What a salesperson does with saved plans. Used alike by the API, the page and the command.

Every change is one transaction, and says which revision it is made to. Planning comes before it, outside of it.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, timedelta
from typing import Any

from sqlalchemy import Row

from rules.answer import NoPlan, Plan
from rules.done import NO_CHANGE, PlanChange, VisitDone
from rules.question import PathQuestion
from rules.test_sheet import FilledTestSheet
from service.plans.asking import answer_to, left_to_ask, next_bike_question
from service.plans.form import from_content, to_content
from service.plans.recording import as_recorded
from service.plans.saved import (
    ChangeWord,
    Moved,
    NewRider,
    Pinned,
    PlanListed,
    Revision,
    Rider,
    SavedPlan,
    Share,
)
from service.plans.trouble import (
    KeyUsedOtherwise,
    PlanArchived,
    PlanChanged,
    UnknownPlan,
    UnknownRevision,
    UnknownRider,
    UnknownShare,
    UnknownVisit,
)
from service.serving import Serving
from service.store.creation import Creation
from service.store.database import Database
from service.store.plans import (
    CreationReused,
    NoSuchRider,
    PlanStore,
    RiderRow,
    StaleRevision,
    Written,
)
from service.store.shares import ShareStore


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A plan that was put in, or that the same key had put in before."""

    plan: SavedPlan
    is_new: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanKeeper:
    """Works on the plans of one database.

    Attributes:
        by: Who is at work, for the history: the name of a key.
    """

    database: Database
    by: str
    now: Callable[[], datetime] = field(default=lambda: datetime.now(UTC))

    @property
    def _store(self) -> PlanStore:
        return PlanStore(self.database)

    # --- looking ----------------------------------------------------------------------------------------------------

    def get(self, plan: str) -> SavedPlan:
        """Give a plan as it is now.

        Raises:
            UnknownPlan: There is none of this id.
        """
        row = self._store.find(plan)
        if row is None:
            raise UnknownPlan(plan)
        return _saved(row, row.content, row.revision)

    def listed(self, limit: int, **which: Any) -> list[PlanListed]:  # noqa: ANN401 -- as `PlanStore.newest` takes them
        """List plans, the last that was changed first."""
        return [_listed(row) for row in self._store.newest(limit, **which)]

    def history(self, plan: str, limit: int | None = None, before: int | None = None) -> list[Revision]:
        """List what happened to a plan, the newest first.

        Raises:
            UnknownPlan: There is none of this id.
        """
        row = self._store.find(plan)
        if row is None:
            raise UnknownPlan(plan)
        return [_revision(row, entry) for entry in self._store.revisions(plan, limit, before)]

    def revision(self, plan: str, number: int) -> Revision:
        """Give a plan as it was after one change.

        Raises:
            UnknownPlan, UnknownRevision: There is none.
        """
        found = self.history(plan, 1, number + 1)
        if not found or found[0].number != number:
            raise UnknownRevision(str(number), ())
        return found[0]

    def planned_for(self, plan: str, number: int) -> SavedPlan:
        """Give the plan under which a visit was done, as it was planned: it may have been planned anew since.

        Args:
            number: Of the visit, counted from 1 over all that were done.

        Raises:
            UnknownPlan, UnknownVisit: There is none.
        """
        for revision in self.history(plan):
            if revision.plan.planned_after < number <= len(revision.plan.done):
                return revision.plan
        raise UnknownVisit(str(number), ())

    # --- making -----------------------------------------------------------------------------------------------------

    def made_before(self, creation: Creation) -> Kept | None:
        """Give the plan that a caller's key made before: who asks again is answered without planning.

        Raises:
            KeyUsedOtherwise: The key was sent with another request.
        """
        try:
            plan = self._store.created(creation)
        except CreationReused as error:
            raise KeyUsedOtherwise from error
        return None if plan is None else Kept(plan=self.get(plan), is_new=False)

    def make(
        self,
        question: PathQuestion,
        serving: Serving,
        today: date,
        creation: Creation,
        *,
        rider: str | NewRider | None = None,
        why: str = "",
    ) -> Kept | NoPlan:
        """Plan, and save the plan; where there is none, nothing is saved.

        Raises:
            KeyUsedOtherwise, UnknownRider: Nothing was saved. And what `Engine.path` raises.
        """
        before = self.made_before(creation)
        if before is not None:
            return before
        answer = serving.engine.cured(question)
        if isinstance(answer, NoPlan):
            return answer
        return self._add(self._new(question, answer, serving, today), creation, "made", why, rider)

    def duplicate(self, plan: str, creation: Creation, why: str = "") -> Kept:
        """Save a plan again as it was planned: without visits done, rider and links.

        Raises:
            UnknownPlan, KeyUsedOtherwise: Nothing was saved.
        """
        before = self.made_before(creation)
        if before is not None:
            return before
        saved, at = self.get(plan), self.now()
        copy = replace(
            saved,
            id=_new_id(),
            revision=1,
            done=(),
            planned_after=0,
            rider=None,
            archived_at=None,
            made_at=at,
            changed_at=at,
        )
        return self._add(copy, creation, "duplicated", why, None)

    def move(
        self,
        plan: str,
        revision: int,
        next_bike: str,
        serving: Serving,
        today: date,
        creation: Creation,
        *,
        change: PlanChange = NO_CHANGE,
        why: str = "",
    ) -> Kept | NoPlan:
        """Plan for the rider's next bike with the parts of this one: a new plan, and this one is put away, in one breath.

        Raises:
            PlanChanged, PlanArchived, UnknownPlan, KeyUsedOtherwise: Nothing was saved. And what `Engine.next_bike` raises.
        """
        before = self.made_before(creation)
        if before is not None:
            return before
        saved = self._to_change(plan, revision)
        asked = next_bike_question(saved, next_bike, today, change)
        answer = serving.engine.next_bike(asked)
        if answer.plan is None:
            return NoPlan(reason="not_verified" if answer.ask else "conflict", ask=answer.ask)
        question = PathQuestion(bike=next_bike, stages=asked.stages, wants=answer.wants)
        moved = Moved(
            plan=saved.id,
            bike=saved.bike,
            found=asked.found,
            own=answer.own,
            sold=answer.sold,
            fetched=answer.fetched,
        )
        new = replace(self._new(question, answer.plan, serving, today), moved=moved, rider=saved.rider)
        left = self._written(replace(saved, archived_at=self.now()), "moved", why)
        return self._add(new, creation, "made", why, _id_of(saved.rider), instead=(revision, left))

    # --- changing ---------------------------------------------------------------------------------------------------

    def plan_anew(
        self,
        plan: str,
        revision: int,
        serving: Serving,
        today: date,
        change: PlanChange = NO_CHANGE,
        why: str = "",
    ) -> SavedPlan | NoPlan:
        """Plan what is left, from the bike as it is now, under the release that is served now.

        Raises:
            UnknownPlan, PlanChanged, PlanArchived: Nothing was saved. And what `Engine.path` raises.
        """
        saved = self._to_change(plan, revision)
        question = left_to_ask(saved, today, change)
        answer = answer_to(saved, question, serving)
        if isinstance(answer.plan, NoPlan):
            return answer.plan
        later = replace(
            saved,
            question=answer.question,
            plan=answer.plan,
            moved=answer.moved,
            pinned=Pinned(release=serving.name, on=today),
            planned_after=len(saved.done),
        )
        return self._change(later, revision, "planned_anew", why)

    def visit_done(
        self, plan: str, revision: int, done: VisitDone, serving: Serving, why: str = ""
    ) -> SavedPlan:
        """Write down a visit that was done.

        Args:
            serving: Of which the parts are; warranties are those that it promises.

        Raises:
            UnknownPlan, PlanChanged, PlanArchived, MalformedQuestion: Nothing was saved.
        """
        saved = self._to_change(plan, revision)
        recorded = as_recorded(saved, done, serving)
        return self._change(replace(saved, done=(*saved.done, recorded)), revision, "visit_done", why)

    def tested(
        self, plan: str, revision: int, number: int, sheet: FilledTestSheet, why: str = ""
    ) -> SavedPlan:
        """Keep the test sheet of a visit that was done; one that is there already is replaced, and stays in the history.

        Args:
            number: Of the visit, counted from 1 over all that were done.

        Raises:
            UnknownPlan, UnknownVisit, PlanChanged, PlanArchived: Nothing was saved.
        """
        saved = self._to_change(plan, revision)
        if not 1 <= number <= len(saved.done):
            raise UnknownVisit(str(number), ())
        done = list(saved.done)
        done[number - 1] = replace(done[number - 1], sheet=sheet)
        return self._change(replace(saved, done=tuple(done)), revision, "tested", why)

    def archive(self, plan: str, revision: int, *, away: bool, why: str = "") -> SavedPlan:
        """Put a plan away, or take it up again.

        Raises:
            UnknownPlan, PlanChanged: Nothing was saved.
        """
        saved = self._seen(plan, revision)
        later = replace(saved, archived_at=self.now() if away else None)
        return self._change(later, revision, "archived" if away else "taken_up", why)

    def name_rider(self, plan: str, revision: int, rider: NewRider) -> SavedPlan:
        """Write down whose plan it is, or what is otherwise known of its rider now. The history tells only that it was done.

        Raises:
            UnknownPlan, PlanChanged, PlanArchived: Nothing was saved.
        """
        saved = self._to_change(plan, revision)
        row = _rider_row(rider, self.now(), saved.rider)
        try:
            self._store.change(revision, self._written(saved, "rider", ""), row)
        except StaleRevision as error:
            raise PlanChanged from error
        return self.get(plan)

    # --- a rider's rights -------------------------------------------------------------------------------------------

    def rider(self, rider: str) -> Rider:
        """Give what is known of a rider.

        Raises:
            UnknownRider: There is none of this id.
        """
        row = self._store.rider(rider)
        if row is None:
            raise UnknownRider(rider)
        return Rider(id=row.id, name=row.name, contact=row.contact, added_at=row.added_at)

    def exported(self, rider: str) -> tuple[Rider, list[list[Revision]]]:
        """Give all that is kept of a rider: with every plan, and everything that happened to it.

        Raises:
            UnknownRider: There is none of this id.
        """
        known = self.rider(rider)
        return known, [self.history(row.id) for row in self._store.newest(1_000_000, rider=rider)]

    def erase(self, rider: str) -> None:
        """Forget a rider. Plans stay for warranty and accounts, and are nobody's.

        Raises:
            UnknownRider: There is none of this id.
        """
        if not self._store.erase(rider):
            raise UnknownRider(rider)

    # --- sharing ----------------------------------------------------------------------------------------------------

    def share(self, plan: str, days: int) -> tuple[Share, str]:
        """Make a link with which anybody reads the plan, as it is then, until it ends.

        Args:
            days: How long it works, 1 to `LONGEST_SHARE_DAYS`.

        Returns: What is kept of it, and its secret, which is shown here and never again.
        """
        self.get(plan)
        at = self.now()
        ends = at + timedelta(days=days)
        identity, secret = ShareStore(self.database).add(plan, self.by, at, ends)
        return Share(id=identity, plan=plan, by=self.by, made_at=at, ends_at=ends, withdrawn_at=None), secret

    def shares(self, plan: str) -> list[Share]:
        """List the links of a plan.

        Raises:
            UnknownPlan: There is none of this id.
        """
        self.get(plan)
        return [_share(row) for row in ShareStore(self.database).all(plan)]

    def withdraw(self, plan: str, share: str) -> None:
        """End a link at once.

        Raises:
            UnknownShare: The plan has no link of this id in force.
        """
        if not ShareStore(self.database).withdraw(plan, share, self.now()):
            raise UnknownShare(share)

    def shared(self, secret: str) -> tuple[Share, SavedPlan]:
        """Give what a link leads to.

        Raises:
            UnknownShare: It is not known, has ended or was withdrawn. Which of these is not said.
        """
        row = ShareStore(self.database).plan_of(secret, self.now())
        if row is None:
            raise UnknownShare(secret)
        return _share(row), self.get(row.plan)

    # --- writing ----------------------------------------------------------------------------------------------------

    def _new(self, question: PathQuestion, plan: Plan, serving: Serving, today: date) -> SavedPlan:
        at = self.now()
        return SavedPlan(
            id=_new_id(),
            revision=1,
            question=question,
            plan=plan,
            pinned=Pinned(release=serving.name, on=today),
            made_at=at,
            changed_at=at,
        )

    def _add(
        self,
        saved: SavedPlan,
        creation: Creation,
        kind: ChangeWord,
        why: str,
        rider: str | NewRider | None,
        instead: tuple[int, Written] | None = None,
    ) -> Kept:
        row = _rider_row(rider, self.now()) if isinstance(rider, NewRider) else rider
        try:
            plan = self._store.add(self._written(saved, kind, why), creation, rider=row, instead=instead)
        except CreationReused as error:
            raise KeyUsedOtherwise from error
        except StaleRevision as error:
            raise PlanChanged from error
        except NoSuchRider as error:
            raise UnknownRider(rider if isinstance(rider, str) else "") from error
        return Kept(plan=self.get(plan), is_new=plan == saved.id)

    def _seen(self, plan: str, revision: int) -> SavedPlan:
        saved = self.get(plan)
        if saved.revision != revision:
            raise PlanChanged
        return saved

    def _to_change(self, plan: str, revision: int) -> SavedPlan:
        saved = self._seen(plan, revision)
        if saved.archived_at is not None:
            raise PlanArchived
        return saved

    def _change(self, saved: SavedPlan, revision: int, kind: ChangeWord, why: str) -> SavedPlan:
        written = self._written(saved, kind, why)
        try:
            number = self._store.change(revision, written)
        except StaleRevision as error:
            raise PlanChanged from error
        return replace(saved, revision=number, changed_at=written.at)

    def _written(self, saved: SavedPlan, kind: ChangeWord, why: str) -> Written:
        return Written(
            plan=saved.id,
            bike=saved.bike,
            release=saved.pinned.release,
            state=saved.state,
            archived_at=saved.archived_at,
            content=to_content(saved),
            kind=kind,
            by=self.by,
            at=self.now(),
            why=why,
        )


def _new_id() -> str:
    return secrets.token_hex(16)


def _id_of(rider: Rider | None) -> str | None:
    return None if rider is None else rider.id


def _rider_row(rider: NewRider, at: datetime, known: Rider | None = None) -> RiderRow:
    identity, added = (known.id, known.added_at) if known else (_new_id(), at)
    return RiderRow(id=identity, name=rider.name, contact=rider.contact, added_at=added)


def _saved(row: Row[Any], content: str, revision: int) -> SavedPlan:
    return from_content(
        content,
        id=row.id,
        revision=revision,
        rider=_rider(row),
        archived_at=row.archived_at,
        made_at=row.made_at,
        changed_at=row.changed_at,
    )


def _rider(row: Row[Any]) -> Rider | None:
    if row.rider is None or row.rider_name is None:
        return None
    return Rider(id=row.rider, name=row.rider_name, contact=row.contact, added_at=row.rider_added_at)


def _revision(row: Row[Any], entry: Row[Any]) -> Revision:
    told = {name: getattr(entry, name) for name in ("number", "kind", "by", "at", "why")}
    plan = replace(_saved(row, entry.content, entry.number), changed_at=entry.at)
    return Revision(plan=plan, **told)


def _listed(row: Row[Any]) -> PlanListed:
    names = ("id", "revision", "bike", "state", "release", "archived_at", "made_at", "changed_at")
    return PlanListed(rider=_rider(row), **{name: getattr(row, name) for name in names})


def _share(row: Row[Any]) -> Share:
    names: Iterator[str] = iter(Share.__dataclass_fields__)
    return Share(**{name: getattr(row, name) for name in names})
