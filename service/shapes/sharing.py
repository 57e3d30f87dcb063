"""Links with which a rider reads a plan, and a rider's right to have everything, and to be forgotten."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Self

from pydantic import Field

from rules.catalog.catalog import Catalog
from rules.question import Fitter
from service.plans.saved import LONGEST_SHARE_DAYS, Revision, Rider, SavedPlan, Share, State
from service.serving import Serving
from service.shapes.base import WHOLE, Asked, Told
from service.shapes.placement import PlacementTold, placements_told
from service.shapes.plans import PlanIdField, RevisionTold, RiderTold, SavedPlanTold, revisions_told
from service.shapes.release import ReleaseNamed


class ShareAsked(Asked):
    """How long a link is to work."""

    days: Annotated[int, Field(ge=1, le=LONGEST_SHARE_DAYS), WHOLE] = 30


class ShareWithdrawnAsked(Asked):
    """The id of a link that must not work any more."""

    share: PlanIdField


class RiderErasedAsked(Asked):
    """The id of a rider who is to be forgotten."""

    rider: PlanIdField


class ShareTold(Told):
    """A link to a plan, without its secret."""

    id: str
    by: str
    made_at: datetime
    ends_at: datetime
    withdrawn_at: datetime | None

    @classmethod
    def from_domain(cls, share: Share) -> Self:
        """Write it."""
        return cls(
            id=share.id,
            by=share.by,
            made_at=share.made_at,
            ends_at=share.ends_at,
            withdrawn_at=share.withdrawn_at,
        )


class ShareMadeTold(Told):
    """A new link. `secret` is shown this once; `/v1/shared-plans/{secret}` reads the plan, without a key."""

    release: ReleaseNamed
    share: ShareTold
    secret: str


class SharesTold(Told):
    """All links of a plan, ended and withdrawn ones too."""

    release: ReleaseNamed
    plan: str
    shares: tuple[ShareTold, ...]

    @classmethod
    def from_domain(cls, plan: str, shares: list[Share], serving: Serving) -> Self:
        """Write them."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            plan=plan,
            shares=tuple(map(ShareTold.from_domain, shares)),
        )


class SharedVisitTold(Told):
    """A visit as the rider reads it: what comes on, what of it stays, what is sold on, and what it costs.

    Of a visit that is done, this is what was done and paid. Visits to come are at today's prices, and no offer.
    """

    on: date
    fitter: Fitter
    is_done: bool
    adds: tuple[PlacementTold, ...]
    stays: tuple[PlacementTold, ...]
    sold_on: tuple[PlacementTold, ...]
    spent_minor: int
    fetched_minor: int


class SharedPlanTold(Told):
    """A plan as its rider reads it, with nothing personal in it."""

    release: ReleaseNamed
    bike: str
    bike_name: str
    currency: str
    state: State
    planned_on: date
    readable_until: datetime
    visits: tuple[SharedVisitTold, ...]

    @classmethod
    def from_domain(cls, share: Share, saved: SavedPlan, pinned: Serving | None, serving: Serving) -> Self:
        """Write it."""
        catalog = (pinned or serving).catalog_of(saved.question.found)
        bike = catalog.bikes.get(saved.bike)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            bike=saved.bike,
            bike_name=bike.name if bike else saved.bike,
            currency=catalog.shop.currency,
            state=saved.state,
            planned_on=saved.pinned.on,
            readable_until=share.ends_at,
            visits=(*_done(saved, catalog), *_to_come(saved, catalog)),
        )


def _done(saved: SavedPlan, catalog: Catalog) -> tuple[SharedVisitTold, ...]:
    there = {entry.placement for entry in saved.found_now.fitted}
    return tuple(
        SharedVisitTold(
            on=done.on,
            fitter=done.fitter,
            is_done=True,
            adds=placements_told((x.placement for x in done.fitted), catalog),
            stays=placements_told((x.placement for x in done.fitted if x.placement in there), catalog),
            sold_on=placements_told((x.placement for x in done.removed), catalog),
            spent_minor=done.paid,
            fetched_minor=done.fetched,
        )
        for done in saved.done
    )


def _to_come(saved: SavedPlan, catalog: Catalog) -> tuple[SharedVisitTold, ...]:
    return tuple(
        SharedVisitTold(
            on=visit.on,
            fitter=visit.fitter,
            is_done=False,
            adds=placements_told(visit.adds, catalog),
            stays=placements_told(visit.stays, catalog),
            sold_on=placements_told(visit.removes, catalog),
            spent_minor=visit.spent,
            fetched_minor=visit.resale,
        )
        for _, visit in saved.to_come
    )


class RiderPlanTold(Told):
    """One plan of a rider, as it is now, with everything that happened to it."""

    saved: SavedPlanTold
    revisions: tuple[RevisionTold, ...]


class RiderExportTold(Told):
    """Everything that is kept of a rider."""

    release: ReleaseNamed
    rider: RiderTold
    plans: tuple[RiderPlanTold, ...]

    @classmethod
    def from_domain(cls, rider: Rider, plans: list[list[Revision]], serving: Serving) -> Self:
        """Write it; of each plan the newest revision comes first. Figures, which follow from the plan, are left out."""
        return cls(
            release=ReleaseNamed.from_domain(serving),
            rider=RiderTold.from_domain(rider),
            plans=tuple(
                RiderPlanTold(
                    saved=SavedPlanTold.from_domain(revisions[0].plan, None, serving),
                    revisions=revisions_told(revisions),
                )
                for revisions in plans
            ),
        )


class RiderErasedTold(Told):
    """A rider was forgotten. Plans stay, and are nobody's."""

    release: ReleaseNamed
    erased: bool = True
