"""Releasing a catalog: upload, activate, roll back, look back. All of it needs a key for the catalog."""

from __future__ import annotations

from typing import Annotated, Any

from fastapi import APIRouter, Path, Query, Request, Response
from fastapi.concurrency import run_in_threadpool

from service.access import CATALOG, CatalogKey, office_of
from service.dependencies import JSON_BODY, ServingDep, TodayDep, serving_now
from service.links import Responses, join, link
from service.problems import (
    BODY_PROBLEMS,
    BODY_TOO_LARGE,
    KEY_PROBLEMS,
    MALFORMED_REQUEST,
    NOT_AN_ARCHIVE,
    OVERTAKEN,
    STORE_PROBLEMS,
    UNKNOWN_KEPT,
    declared,
)
from service.releasing.outcome import NotAnArchive
from service.representation import reply
from service.shapes.releases import (
    ActivationAsked,
    ActivationTold,
    EventAnswer,
    HistoryAsked,
    HistoryTold,
    ImpactAnswer,
    ImpactAsked,
    KeptReleaseAnswer,
    KeptReleasesAsked,
    KeptReleasesTold,
    RollbackAsked,
    UploadAsked,
    UploadTold,
)

router = APIRouter(tags=["Release a catalog"])

KINDS = ("application/zip", "application/gzip", "application/x-tar")
"""Media types of archives. The archive itself is looked at, so any of these will do."""

KeptId = Annotated[str, Path(max_length=120, description="Id of a kept release, or its name.")]
_ARCHIVE: dict[str, Any] = {
    "requestBody": {
        "required": True,
        "description": "The catalog's directory, packed; alone, or in one folder.",
        "content": {kind: {"schema": {"type": "string", "format": "binary"}} for kind in KINDS},
    }
}


@router.post(
    "/v1/releases",
    operation_id="upload_release",
    summary="Check a catalog, and keep it if it is sound",
    response_model=UploadTold,
    responses=join(
        {201: {"model": UploadTold, "description": "It is sound, and kept."}},
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, BODY_TOO_LARGE, NOT_AN_ARCHIVE),
        link("show_release", release="#/kept/id"),
    ),
    openapi_extra=_ARCHIVE,
)
async def upload_release(
    request: Request, key: CatalogKey, asked: Annotated[UploadAsked, Query()], serving: ServingDep
) -> Response:
    """A refusal is an answer, with status 200 and every fault. What is served stays as it is."""
    if request.headers.get("content-type", "").split(";")[0].strip().lower() not in KINDS:
        raise NotAnArchive
    archive = await request.body()
    manager = office_of(request).manager(key.name)
    outcome = await run_in_threadpool(manager.take_in, archive, asked.why)
    told = UploadTold.from_domain(outcome, serving)
    return reply(told, 201 if told.outcome == "kept" else 200)


@router.get(
    "/v1/releases",
    operation_id="list_releases",
    summary="Kept releases, the last one first",
    response_model=KeptReleasesTold,
    responses=join(
        declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST),
        link("show_release", release="#/releases/0/id"),
    ),
)
def list_releases(
    request: Request, key: CatalogKey, asked: Annotated[KeptReleasesAsked, Query()], serving: ServingDep
) -> Response:
    """Whether it was ever served or not."""
    found = office_of(request).manager(key.name).releases.newest(asked.limit + 1, asked.after)
    return reply(KeptReleasesTold.from_domain(found, asked.limit, serving))


@router.get(
    "/v1/releases/{release}",
    operation_id="show_release",
    summary="One kept release",
    response_model=KeptReleaseAnswer,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_KEPT),
)
def show_release(request: Request, key: CatalogKey, release: KeptId, serving: ServingDep) -> Response:
    """What it holds, who kept it, and what came of its cases."""
    kept = office_of(request).manager(key.name).kept(release.partition(".")[0])
    return reply(KeptReleaseAnswer.from_domain(kept, serving))


@router.get(
    "/v1/releases/{release}/impact",
    operation_id="show_impact",
    summary="Which answers would a kept release change, and because of what?",
    response_model=ImpactAnswer,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_KEPT),
)
def show_impact(
    request: Request,
    key: CatalogKey,
    release: KeptId,
    asked: Annotated[ImpactAsked, Query()],
    serving: ServingDep,
    today: TodayDep,
) -> Response:
    """Over every bike and part, declared build and case. It is worked out in a process apart, which can take minutes."""
    manager = office_of(request).manager(key.name)
    against = asked.against or serving.release.id
    seen = manager.impact(release.partition(".")[0], against, asked.on or today)
    return reply(ImpactAnswer.from_domain(seen, serving))


_CHANGES: Responses = declared(*KEY_PROBLEMS, *STORE_PROBLEMS, *BODY_PROBLEMS, OVERTAKEN)


@router.post(
    "/v1/activations",
    operation_id="activate_release",
    summary="Serve a kept release, if its cases hold and every changed answer is wanted",
    dependencies=[CATALOG, JSON_BODY],
    response_model=ActivationTold,
    responses=join(_CHANGES, declared(UNKNOWN_KEPT)),
)
def activate_release(request: Request, key: CatalogKey, asked: ActivationAsked, today: TodayDep) -> Response:
    """Cases and impact are worked out in a process apart, which can take minutes; it goes on if you hang up.

    A refusal is an answer, with status 200; what was served is served on.
    """
    office = office_of(request)
    outcome = office.manager(key.name).activate(
        asked.release,
        asked.why,
        on=asked.on or today,
        instead_of=asked.instead_of,
        acknowledgements=tuple(x.to_domain() for x in asked.acknowledgements),
    )
    office.follower.follow(at_once=True)
    return reply(ActivationTold.from_domain(outcome, serving_now(request)))


@router.get(
    "/v1/activations",
    operation_id="list_history",
    summary="What happened to releases and holds: who, when, why",
    response_model=HistoryTold,
    responses=declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST),
)
def list_history(
    request: Request, key: CatalogKey, asked: Annotated[HistoryAsked, Query()], serving: ServingDep
) -> Response:
    """The latest first."""
    found = office_of(request).manager(key.name).history.newest(asked.limit + 1, asked.before)
    return reply(HistoryTold.from_domain(found, asked.limit, serving))


@router.post(
    "/v1/rollbacks",
    operation_id="roll_back",
    summary="Serve a release again that was served before",
    dependencies=[CATALOG, JSON_BODY],
    response_model=EventAnswer,
    responses=join(_CHANGES, declared(UNKNOWN_KEPT)),
)
def roll_back(request: Request, key: CatalogKey, asked: RollbackAsked) -> Response:
    """The one before the present one, or any other of the last twenty. Nothing is asked of it again."""
    office = office_of(request)
    event = office.manager(key.name).roll_back(asked.why, asked.release)
    office.follower.follow(at_once=True)
    return reply(EventAnswer.from_domain(event, serving_now(request)))
