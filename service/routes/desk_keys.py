"""Who sits at the desk: the key that a browser keeps, and puts away."""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from service.access import office_of
from service.denied import KeyNeeded
from service.dependencies import ServingDep
from service.desk.pages import page
from service.desk.routing import PageRoute
from service.desk.session import COOKIE, OUR_FORM, Form
from service.routes.desk_counter import to

router = APIRouter(route_class=PageRoute, include_in_schema=False)


@router.get("/key")
def ask_key(serving: ServingDep) -> Response:
    """Ask for the key."""
    return page("key.html", {"shop": serving.catalog.shop, "keeps_plans": True})


@router.post("/key")
def take_key(request: Request, fields: Form) -> Response:
    """Keep the key in a cookie that only these pages get."""
    given = fields.one("key")
    if office_of(request).holder(given) is None:
        raise KeyNeeded
    answer = to("/desk/plans")
    answer.set_cookie(
        COOKIE, given, path="/desk", httponly=True, samesite="strict", secure=request.url.scheme == "https"
    )
    return answer


@router.post("/key/away", dependencies=[OUR_FORM])
def drop_key() -> Response:
    """Forget the key in this browser."""
    answer = to("/desk")
    answer.delete_cookie(COOKIE, path="/desk")
    return answer
