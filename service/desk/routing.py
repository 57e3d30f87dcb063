"""Routes that answer people: what goes wrong is said on a page, in words and with a cure."""

from __future__ import annotations

import logging
from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import HTTPException, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.responses import RedirectResponse
from fastapi.routing import APIRoute

from rules.errors import LoomwayError, MalformedQuestion, PlanRefused, UnknownId
from service.denied import KeyNeeded, NoDatabase, WrongRole
from service.desk import words
from service.desk.asked import Fields
from service.desk.pages import HEADERS, page
from service.desk.pdf import NoPdf
from service.plans.trouble import PlanArchived, PlanChanged
from service.problems import FAILURES, PLAN_REFUSED, problem_of_failure
from service.serving import Serving

_log = logging.getLogger(__name__)

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


_REFUSED = {
    403: ("This form came from elsewhere", "Only our own pages may send it."),
    404: ("There is no such page", "The address leads nowhere."),
    413: ("This form is too long", "Nothing was done."),
}


class PageRoute(APIRoute):
    """A route whose faults are pages."""

    def get_route_handler(self) -> Handler:
        """Wrap the route."""
        handler = super().get_route_handler()

        async def told(request: Request) -> Response:
            try:
                return await handler(request)
            except LoomwayError as error:
                return sorry(request, error)
            except HTTPException as error:
                title, detail = _REFUSED.get(error.status_code, ("That did not work", "Nothing was done."))
                return _page(request, error.status_code, title, detail, "")
            except FAILURES as error:
                failed = problem_of_failure(error, "")
                return _page(request, failed.status, failed.title, failed.detail, failed.cure)
            except PlanRefused as error:
                # What is wrong with the plan is for us to read, and not for who stands at the counter.
                _log.error("%s", error)
                return _page(
                    request, PLAN_REFUSED.status, PLAN_REFUSED.title, PLAN_REFUSED.detail, PLAN_REFUSED.cure
                )
            except RequestValidationError:
                return _page(request, 404, *_REFUSED[404], "")

        return told


_SAID: dict[type[LoomwayError], tuple[int, str, str, str]] = {
    WrongRole: (403, "This key is for something else", "Plans need a key for sales.", "take another key"),
    NoDatabase: (503, "Nothing is kept here", "This service runs without a database.", "ask whoever runs it"),
    PlanChanged: (
        409,
        "Somebody was quicker",
        "The plan was changed since you opened it. Nothing was done.",
        "open the plan again and look",
    ),
    PlanArchived: (409, "This plan is put away", "Nothing was done.", "take it up again first"),
    NoPdf: (503, "No PDF can be made here", "The machine lacks what it takes.", "print the page instead"),
}


def sorry(request: Request, error: LoomwayError) -> Response:
    """Say what is wrong, and what helps."""
    match error:
        case KeyNeeded():
            return RedirectResponse("/desk/key", 303, headers=HEADERS)
        case MalformedQuestion():
            said = words.sentence(words.capital(str(error)))
            return _page(request, 422, "That does not go together", said, error.cure)
        case UnknownId():
            near = ", ".join(error.nearest)
            cure = f"perhaps it is one of these: {near}" if near else "go back and choose again"
            return _page(request, 404, f"No such {error.what} is known here", "It may be gone by now.", cure)
    return _page(request, *_SAID.get(type(error), (422, "That did not work", "", "go back and try again")))


def _page(request: Request, status: int, title: str, detail: str, cure: str) -> Response:
    serving: Serving = request.state.serving
    told = {
        "title": title,
        "detail": detail,
        "cure": cure or "begin again from the bike",
        "shop": serving.catalog.shop,
        "keeps_plans": False,
    }
    return page("sorry.html", told, status)


def fields_of(request: Request) -> Fields:
    """Read what stands behind the question mark of a page's address."""
    try:
        return Fields.of_query(request.url.query)
    except ValueError as error:
        # There are more fields than any of our forms has.
        raise HTTPException(400) from error
