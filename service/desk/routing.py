"""Routes that answer people: what goes wrong is said on a page, in words and with a cure."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import Any

from fastapi import HTTPException, Request, Response
from fastapi.routing import APIRoute

from rules.errors import LoomwayError, MalformedQuestion, UnknownId
from service.desk import words
from service.desk.asked import Fields
from service.desk.pages import page
from service.desk.pdf import NoPdf
from service.serving import Serving

Handler = Callable[[Request], Coroutine[Any, Any, Response]]


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
                return _page(
                    request, error.status_code, "There is no such page", "The address leads nowhere.", ""
                )

        return told


def sorry(request: Request, error: LoomwayError) -> Response:
    """Say what is wrong, and what helps."""
    match error:
        case MalformedQuestion():
            return _page(
                request,
                422,
                "That does not go together",
                words.sentence(words.capital(str(error))),
                error.cure,
            )
        case UnknownId():
            near = ", ".join(error.nearest)
            cure = f"perhaps it is one of these: {near}" if near else "go back and choose again"
            return _page(
                request,
                404,
                f"No such {error.what} is known here",
                "It may have been left out of the catalog.",
                cure,
            )
        case NoPdf():
            return _page(
                request,
                503,
                "No PDF can be made here",
                "The machine lacks what it takes.",
                "print the page instead",
            )
    return _page(request, 422, "That did not work", "", "go back and try again")


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
    return Fields.of_query(request.url.query)
