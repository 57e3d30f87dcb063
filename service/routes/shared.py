"""Links with which a rider reads a plan without a key; and a rider's data, given out whole or forgotten."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Path, Request, Response

from service.access import SALES
from service.dependencies import JSON_BODY, ServingDep, TodayDep
from service.links import join, link
from service.problems import (
    BODY_PROBLEMS,
    KEY_PROBLEMS,
    MALFORMED_REQUEST,
    NO_DATABASE,
    STORE_PROBLEMS,
    UNKNOWN_PLAN,
    UNKNOWN_RIDER,
    UNKNOWN_SHARE,
    declared,
)
from service.representation import reply
from service.routes.counter import Counter, CounterDep, PlanId
from service.shapes.release import ReleaseNamed
from service.shapes.sharing import (
    RiderErasedAsked,
    RiderErasedTold,
    RiderExportTold,
    ShareAsked,
    SharedPlanTold,
    ShareMadeTold,
    SharesTold,
    ShareTold,
    ShareWithdrawnAsked,
)

router = APIRouter(tags=["Share a plan"])

RiderId = Annotated[str, Path(max_length=32, description="Id of a rider, which says nothing of the person.")]
Secret = Annotated[str, Path(max_length=80, description="The secret of a link.")]


@router.post(
    "/v1/plans/{plan}/shares",
    operation_id="share_plan",
    summary="Make a link with which a rider reads a plan",
    dependencies=[SALES, JSON_BODY],
    response_model=ShareMadeTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_PLAN),
        link("read_shared_plan", secret="#/secret"),  # noqa: S106 -- where the secret is
    ),
)
def share_plan(counter: CounterDep, plan: PlanId, asked: ShareAsked) -> Response:
    """Read-only, until it ends. Its secret is shown this once; only a digest of it is kept."""
    share, secret = counter.keeper.sharing.make(plan, asked.days)
    told = ShareMadeTold(
        release=ReleaseNamed.from_domain(counter.serving), share=ShareTold.from_domain(share), secret=secret
    )
    return reply(told)


@router.get(
    "/v1/plans/{plan}/shares",
    operation_id="list_shares",
    summary="The links of a plan",
    response_model=SharesTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_PLAN),
)
def list_shares(counter: CounterDep, plan: PlanId) -> Response:
    """Without their secrets."""
    return reply(SharesTold.from_domain(plan, counter.keeper.sharing.of(plan), counter.serving))


@router.post(
    "/v1/plans/{plan}/withdrawn-shares",
    operation_id="withdraw_share",
    summary="End a link at once",
    dependencies=[SALES, JSON_BODY],
    response_model=SharesTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_PLAN, UNKNOWN_SHARE),
)
def withdraw_share(counter: CounterDep, plan: PlanId, asked: ShareWithdrawnAsked) -> Response:
    """For ever."""
    counter.keeper.sharing.withdraw(plan, asked.share)
    return reply(SharesTold.from_domain(plan, counter.keeper.sharing.of(plan), counter.serving))


@router.get(
    "/v1/shared-plans/{secret}",
    operation_id="read_shared_plan",
    summary="A plan as its rider reads it",
    response_model=SharedPlanTold,
    responses=declared(NO_DATABASE, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_SHARE),
)
def read_shared_plan(request: Request, secret: Secret, serving: ServingDep, today: TodayDep) -> Response:
    """It needs no key but the link. It holds nothing personal, and no other site learns of it."""
    counter = Counter(request=request, by="a rider", serving=serving, today=today)
    share, saved = counter.keeper.sharing.read(secret)
    answer = reply(SharedPlanTold.from_domain(share, saved, counter.pinned(saved), counter.serving))
    answer.headers["Referrer-Policy"] = "no-referrer"
    answer.headers["X-Robots-Tag"] = "noindex"
    return answer


@router.get(
    "/v1/riders/{rider}",
    operation_id="export_rider",
    summary="Everything that is kept of a rider",
    response_model=RiderExportTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_RIDER),
)
def export_rider(counter: CounterDep, rider: RiderId) -> Response:
    """For the rider, who may ask for it: with every plan, and everything that happened to it."""
    known, plans = counter.keeper.riders.exported(rider)
    return reply(RiderExportTold.from_domain(known, plans, counter.serving))


@router.post(
    "/v1/erased-riders",
    operation_id="erase_rider",
    summary="Forget a rider",
    dependencies=[SALES, JSON_BODY],
    response_model=RiderErasedTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, UNKNOWN_RIDER),
)
def erase_rider(counter: CounterDep, asked: RiderErasedAsked) -> Response:
    """Name and contact are deleted; plans stay for warranty and accounts, and are nobody's. Backups made before still hold them."""
    counter.keeper.riders.erase(asked.rider)
    return reply(RiderErasedTold(release=ReleaseNamed.from_domain(counter.serving)))
