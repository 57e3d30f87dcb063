"""What a salesperson does with saved plans. Used alike by the API, the page and the command.

Every change is one transaction, and says which revision it is made to. Planning comes before it, outside of it.
"""

from __future__ import annotations

import secrets
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime

from rules.answer import NoPlan, Plan
from rules.build import AsFound
from rules.done import NO_CHANGE, PlanChange, VisitDone
from rules.question import PathQuestion
from rules.test_sheet import FilledTestSheet
from service.plans.asking import answer_to, left_to_ask, next_bike_question
from service.plans.correcting import corrected, taken_back
from service.plans.form import to_content
from service.plans.lookup import PlanLookup
from service.plans.recording import as_recorded
from service.plans.riders import Riders
from service.plans.saved import ChangeWord, Moved, NewRider, Pinned, Rider, SavedPlan
from service.plans.sharing import Sharing
from service.plans.trouble import KeyUsedOtherwise, PlanArchived, PlanChanged, UnknownRider
from service.serving import Serving
from service.store.creation import Creation
from service.store.plans import CreationReused, NoSuchRider, RiderRow, StaleRevision, Written


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A plan that was put in, or that the same key had put in before."""

    plan: SavedPlan
    is_new: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanKeeper(PlanLookup):
    """Works on the plans of one database.

    Attributes:
        by: Who is at work, for the history: the name of a key.
    """

    by: str
    now: Callable[[], datetime] = field(default=lambda: datetime.now(UTC))

    @property
    def riders(self) -> Riders:
        """Give riders what is theirs."""
        return Riders(self)

    @property
    def sharing(self) -> Sharing:
        """Work on links."""
        return Sharing(plans=self, by=self.by, now=self.now)

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
            corrected_found=None,
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

    def correct(
        self, plan: str, revision: int, number: int, done: VisitDone, serving: Serving, why: str
    ) -> SavedPlan:
        """Put right what was written down of a visit; what was written before stays in the history, and so does its test sheet.

        Args:
            number: Of the visit, counted from 1 over all that were done.
            done: The whole visit as it really was.
            serving: Of which the parts are.

        Raises:
            UnknownPlan, UnknownVisit, PlanChanged, PlanArchived, MalformedQuestion: Nothing was saved.
        """
        saved = self._to_change(plan, revision)
        planned = self.planned_for(plan, number)
        right = corrected(saved, number, done, planned=planned, first=self._first(plan), serving=serving)
        return self._change(right, revision, "corrected", why)

    def take_back(self, plan: str, revision: int, number: int, serving: Serving, why: str) -> SavedPlan:
        """Take back the last visit, which never took place; that it was written down stays in the history.

        Raises:
            UnknownPlan, UnknownVisit, PlanChanged, PlanArchived, MalformedQuestion: Nothing was saved.
        """
        saved = self._to_change(plan, revision)
        right = taken_back(saved, number, first=self._first(plan), serving=serving)
        return self._change(right, revision, "corrected", why)

    def _first(self, plan: str) -> AsFound:
        """Give the bike before the first visit."""
        return self.revision(plan, 1).plan.found_then

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
        tested = replace(saved.visit_done(number), sheet=sheet)
        done = (*saved.done[: number - 1], tested, *saved.done[number:])
        return self._change(replace(saved, done=done), revision, "tested", why)

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
