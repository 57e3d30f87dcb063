"""Links with which anybody who was given one reads a plan, and does nothing else."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from datetime import datetime, timedelta
from typing import Any

from sqlalchemy import Row

from service.plans.lookup import PlanLookup
from service.plans.saved import SavedPlan, Share
from service.plans.trouble import UnknownShare
from service.store.shares import ShareStore


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharing:
    """The links of one database.

    Attributes:
        by: Who makes them.
    """

    plans: PlanLookup
    by: str
    now: Callable[[], datetime]

    @property
    def _store(self) -> ShareStore:
        return ShareStore(self.plans.database)

    def make(self, plan: str, days: int) -> tuple[Share, str]:
        """Make a link with which anybody reads the plan, as it is then, until it ends.

        Args:
            days: How long it works, 1 to `LONGEST_SHARE_DAYS`.

        Returns: What is kept of it, and its secret, which is shown here and never again.

        Raises:
            UnknownPlan: There is none of this id.
        """
        self.plans.get(plan)
        at = self.now()
        ends = at + timedelta(days=days)
        identity, secret = self._store.add(plan, self.by, at, ends)
        return Share(id=identity, plan=plan, by=self.by, made_at=at, ends_at=ends, withdrawn_at=None), secret

    def of(self, plan: str) -> list[Share]:
        """List the links of a plan.

        Raises:
            UnknownPlan: There is none of this id.
        """
        self.plans.get(plan)
        return [_share(row) for row in self._store.all(plan)]

    def withdraw(self, plan: str, share: str) -> None:
        """End a link at once.

        Raises:
            UnknownShare: The plan has no link of this id in force.
        """
        if not self._store.withdraw(plan, share, self.now()):
            raise UnknownShare(share)

    def read(self, secret: str) -> tuple[Share, SavedPlan]:
        """Give what a link leads to.

        Raises:
            UnknownShare: It is not known, has ended or was withdrawn. Which of these is not said.
        """
        row = self._store.plan_of(secret, self.now())
        if row is None:
            raise UnknownShare(secret)
        return _share(row), self.plans.get(row.plan)


def _share(row: Row[Any]) -> Share:
    return Share(**{x.name: getattr(row, x.name) for x in fields(Share)})
