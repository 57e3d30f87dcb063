"""Exception handlers: whatever goes wrong with a request is answered with a problem document."""

from __future__ import annotations

import json
import logging
from collections.abc import Awaitable, Callable
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError

from rules.errors import LoomwayError, PlanRefused
from service.faults import faults
from service.middleware import RELEASE_HEADER
from service.problems import (
    BODY_TOO_LARGE,
    FAILURES,
    INTERNAL,
    MALFORMED_JSON,
    MALFORMED_REQUEST,
    MEDIA_TYPE,
    NO_SUCH_ADDRESS,
    NOT_JSON,
    PLAN_REFUSED,
    WRONG_METHOD,
    Kind,
    problem,
    problem_of,
    problem_of_failure,
)
from service.shapes.problem import Problem

_log = logging.getLogger(__name__)

_REFUSALS = (MALFORMED_JSON, NO_SUCH_ADDRESS, WRONG_METHOD, BODY_TOO_LARGE, NOT_JSON)
"""What the framework, or a layer of ours, refuses with a bare status."""


_METHODS = ("DELETE", "GET", "PATCH", "POST", "PUT")

_STATUS_HEADERS = {401: {"WWW-Authenticate": "Bearer"}, 503: {"Retry-After": "5"}}
"""What some statuses must say besides (RFC 9110, 11.6.1 and 10.2.3)."""


def install_handlers(app: FastAPI) -> None:
    """Answer every error of an application with a problem document."""
    app.add_exception_handler(LoomwayError, _on_mistake)
    app.add_exception_handler(RequestValidationError, _on_malformed)
    app.add_exception_handler(PlanRefused, _on_refused_plan)
    for failure in FAILURES:
        app.add_exception_handler(failure, _on_failed_store)
    for kind in _REFUSALS:
        app.add_exception_handler(kind.status, _refusal(kind))
    app.add_exception_handler(Exception, on_failure)


async def _on_mistake(request: Request, error: Exception) -> Response:
    assert isinstance(error, LoomwayError)  # noqa: S101 -- it is registered for this class only
    question_at = "/query" if request.method == "GET" else "/body"
    return _respond(problem_of(error, await _asked(request), _release(request), question_at))


async def _on_malformed(request: Request, error: Exception) -> Response:
    assert isinstance(error, RequestValidationError)  # noqa: S101 -- it is registered for this class only
    found = faults(error.errors())
    undecodable = any(fault.code == MALFORMED_JSON.code for fault in found)
    kind = MALFORMED_JSON if undecodable else MALFORMED_REQUEST
    return _respond(problem(kind, _release(request), field=found[0].field, found=found))


async def _on_failed_store(request: Request, error: Exception) -> Response:
    return _respond(problem_of_failure(error, _release(request)))


def _refusal(kind: Kind) -> Callable[[Request, Exception], Awaitable[Response]]:
    async def on_refusal(request: Request, _: Exception) -> Response:
        field = "/body" if kind in (MALFORMED_JSON, BODY_TOO_LARGE) else None
        headers = {"Allow": ", ".join(_methods(request))} if kind is WRONG_METHOD else {}
        return _respond(problem(kind, _release(request), field=field), headers)

    return on_refusal


async def _on_refused_plan(request: Request, error: Exception) -> Response:
    # What is wrong with the plan is for us to read, and not for the caller.
    _log.error("%s", error)
    return _respond(problem(PLAN_REFUSED, _release(request)))


async def on_failure(request: Request, _: Exception) -> Response:
    """Answer for what nobody expected."""
    # The server logs the exception; the caller learns nothing of it.
    return _respond(problem(INTERNAL, _release(request)))


async def _asked(request: Request) -> dict[str, Any]:
    body = await request.body()
    try:
        read = json.loads(body)
    except ValueError:
        # There is none, or it is an archive.
        read = None
    return {"path": request.path_params, "query": dict(request.query_params), "body": read}


def _release(request: Request) -> str:
    # The outermost handler runs outside of the layer that pins the release.
    serving = getattr(request.state, "serving", request.app.state.serving)
    return str(serving.name)


def _methods(request: Request) -> list[str]:
    # Starlette lists the methods of the first route only, and the document knows no pages: so every method is tried.
    routes = request.app.router.routes
    tried = ({**request.scope, "method": method} for method in _METHODS)
    taken = {x["method"] for x in tried if any(route.matches(x)[0].name == "FULL" for route in routes)}
    return sorted(taken | ({"HEAD"} if "GET" in taken else set()))


def _respond(told: Problem, headers: dict[str, str] | None = None) -> Response:
    return Response(
        told.model_dump_json().encode(),
        status_code=told.status,
        media_type=MEDIA_TYPE,
        headers={
            **(headers or {}),
            **_STATUS_HEADERS.get(told.status, {}),
            RELEASE_HEADER: told.release,
            "Cache-Control": "no-store",
        },
    )
