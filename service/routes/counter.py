"""What every operation and page over saved plans is given: the plans under a seller's name, the release, and the day."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Annotated, cast

from fastapi import Depends, Header, Path, Request

from rules.done import VisitDone
from rules.release import ENGINE_REVISION
from service.access import SalesKey, office_of
from service.dependencies import ServingDep, TodayDep
from service.plans.recording import knows
from service.plans.saved import SavedPlan
from service.plans.standing import Standing, Standings
from service.plans.trouble import RevisionNeeded
from service.releasing.failures import Failure
from service.serving import Serving
from service.store.errors import DamagedRelease

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.plans.keeper import PlanKeeper

PlanId = Annotated[str, Path(max_length=32, description="Id of a saved plan.")]
IfMatch = Annotated[
    str | None,
    Header(
        alias="If-Match",
        max_length=200,
        description="The ETag of the plan as you know it: if it is another one by then, nothing is done.",
    ),
]
IdempotencyKey = Annotated[
    str,
    Header(
        alias="Idempotency-Key",
        min_length=1,
        max_length=200,
        description="A word of your own for this request: sent again with it, the same plan is given, and none is made.",
    ),
]
_TAG = re.compile(r'"([0-9]{1,10})"', re.ASCII)


def seen_revision(if_match: IfMatch = None) -> int:
    """Read which revision the caller has seen.

    Returns: One that no plan has, if the tag is none of ours.

    Raises:
        RevisionNeeded: There is no tag, or one that would fit any.
    """
    if if_match is None or if_match.strip() == "*":
        raise RevisionNeeded
    found = _TAG.fullmatch(if_match.strip())
    return int(found[1]) if found else 0


SeenRevision = Annotated[int, Depends(seen_revision)]


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    """Where somebody works on saved plans.

    Attributes:
        by: Under whose name, for the history.
        key: Id of the key that is held; words of one's own for a request count for each key alone.
    """

    request: Request
    by: str
    key: str = ""
    serving: Serving
    today: date

    @property
    def keeper(self) -> PlanKeeper:
        """Work on plans under the seller's name."""
        return office_of(self.request).keeper(self.by)

    def standing(self, saved: SavedPlan) -> Standing:
        """Look up what has become of a plan."""
        state = self.request.app.state
        if not hasattr(state, "standings"):
            state.standings = Standings()
        return cast("Standings", state.standings).of(saved, self.serving, self.today)

    def pinned(self, saved: SavedPlan) -> Serving | None:
        """Give the release that a plan was made under; None if it cannot be read any more.

        Under another revision of the engine its catalog still has the names and prices of the plan; figures are then left out.
        """
        release, _, rest = saved.pinned.release.partition(".")
        _, *holds = rest.split(".")
        shelf = office_of(self.request).shelf
        for name in dict.fromkeys((saved.pinned.release, ".".join((release, str(ENGINE_REVISION), *holds)))):
            if name == self.serving.name:
                return self.serving
            try:
                found = shelf.find(name) or shelf.open(name)
            except (Failure, DamagedRelease):
                return None
            if found is not None:
                return found
        return None

    def knowing(self, saved: SavedPlan, done: VisitDone) -> Serving:
        """Give the release that knows what was fitted; the plan's own, where today's catalog does not have it any more."""
        pinned = self.pinned(saved)
        return self.serving if pinned is None or knows(self.serving, saved.bike, done) else pinned


def _counter(request: Request, key: SalesKey, serving: ServingDep, today: TodayDep) -> Counter:
    return Counter(request=request, by=key.name, key=key.id, serving=serving, today=today)


CounterDep = Annotated[Counter, Depends(_counter)]
