"""A rider's rights: to be given all that is kept, and to be forgotten."""

from __future__ import annotations

from dataclasses import dataclass

from service.plans.lookup import PlanLookup
from service.plans.saved import Revision, Rider
from service.plans.trouble import UnknownRider
from service.store.plans import PlanStore

ALL = 1_000_000
"""More plans than one rider has."""


@dataclass(frozen=True, slots=True)
class Riders:
    """The riders of one database, and their plans."""

    plans: PlanLookup

    @property
    def _store(self) -> PlanStore:
        return PlanStore(self.plans.database)

    def get(self, rider: str) -> Rider:
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
        known = self.get(rider)
        return known, [self.plans.history(row.id) for row in self._store.newest(ALL, rider=rider)]

    def erase(self, rider: str) -> None:
        """Forget a rider. Plans stay for warranty and accounts, and are nobody's.

        Raises:
            UnknownRider: There is none of this id.
        """
        if not self._store.erase(rider):
            raise UnknownRider(rider)
