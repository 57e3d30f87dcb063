"""Who sits at the desk: a key for sales in a cookie that only these pages get, and forms that come from them alone."""

from __future__ import annotations

from typing import Annotated
from urllib.parse import urlsplit

from fastapi import Depends, HTTPException, Request

from service.access import office_of
from service.denied import KeyNeeded, WrongRole
from service.desk.asked import Fields
from service.store.kept import KeptKey

COOKIE = "loomway-desk"


def seller(request: Request) -> KeptKey:
    """Give whose key the browser holds.

    Raises:
        NoDatabase, KeyNeeded, WrongRole: Nobody's.
    """
    office = office_of(request)
    given = request.cookies.get(COOKIE)
    holder = office.holder(given) if given else None
    if holder is None:
        raise KeyNeeded
    if holder.role != "sales":
        raise WrongRole
    return holder


async def form(request: Request) -> Fields:
    """Read a form that was sent from one of our own pages; a page of others cannot send one for us."""
    if not _is_ours(request):
        raise HTTPException(403)
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise HTTPException(415)
    try:
        return Fields.of_query((await request.body()).decode("utf-8"))
    except ValueError as error:
        raise HTTPException(400) from error


def _is_ours(request: Request) -> bool:
    """Tell whether a request comes from our own page: browsers say so in headers that no page can set."""
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("origin")
    return origin is not None and urlsplit(origin).netloc == request.headers.get("host")


Seller = Annotated[KeptKey, Depends(seller)]
Form = Annotated[Fields, Depends(form)]

OUR_FORM = Depends(form)
"""For a route that needs nothing of a form but that it comes from our own page."""
