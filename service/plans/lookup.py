"""Looking saved plans up: as they are now, as they were after each change, and as a visit of theirs was planned."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy import Row

from service.plans.form import from_content
from service.plans.saved import PlanListed, Revision, Rider, SavedPlan
from service.plans.trouble import UnknownPlan, UnknownRevision, UnknownVisit
from service.store.database import Database
from service.store.plans import PlanStore


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanLookup:
    """Reads the plans of one database."""

    database: Database

    @property
    def _store(self) -> PlanStore:
        return PlanStore(self.database)

    def get(self, plan: str) -> SavedPlan:
        """Give a plan as it is now.

        Raises:
            UnknownPlan: There is none of this id.
        """
        row = self._row(plan)
        return _saved(row, row.content, row.revision)

    def listed(self, limit: int, **which: Any) -> list[PlanListed]:  # noqa: ANN401 -- as `PlanStore.newest` takes them
        """List plans, the last that was changed first."""
        return [_listed(row) for row in self._store.newest(limit, **which)]

    def history(self, plan: str, limit: int | None = None, before: int | None = None) -> list[Revision]:
        """List what happened to a plan, the newest first.

        Raises:
            UnknownPlan: There is none of this id.
        """
        row = self._row(plan)
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

    def _row(self, plan: str) -> Row[Any]:
        row = self._store.find(plan)
        if row is None:
            raise UnknownPlan(plan)
        return row


def _saved(row: Row[Any], content: str, revision: int) -> SavedPlan:
    names = ("id", "archived_at", "made_at", "changed_at")
    about = {name: getattr(row, name) for name in names}
    return from_content(content, revision=revision, rider=_rider(row), **about)


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
