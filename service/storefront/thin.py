"""Fit checks answered before the framework sees them: what is plain, known and current, and nothing else.

Everything that is not goes on to the same operation of the framework, so there is one contract: its route finds the mistake,
works out what is new, and keeps the recipe. A test asks both and compares bytes.
"""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import NamedTuple, cast

from rules.question import FitQuestion, Fitter
from service.middleware import MIN_RELEASE_HEADER, RELEASE_HEADER, Application, Receive, Scope, Send
from service.representation import IMMUTABLE, REVALIDATE, has
from service.serving import Serving
from service.storefront.answers import fit_response, fit_tag

_QUERY = re.compile(r"[a-z]+=[A-Za-z0-9_-]+(?:&[a-z]+=[A-Za-z0-9_-]+)*", re.ASCII)
_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
FITTERS = ("shop", "home")
NOT_PLAIN = frozenset({RELEASE_HEADER.lower().encode(), MIN_RELEASE_HEADER.lower().encode()})
_KINDS = {control: control.encode() for control in (REVALIDATE, IMMUTABLE)}
OPEN, PINNED = "/v1/fitment/{bike}/{part}", "/v1/releases/{release}/fitment/{bike}/{part}/{on}"
_OPEN, _PINNED = OPEN.count("/") + 1, PINNED.count("/") + 1
"""Steps of an address, with the empty one before the first slash."""


class Query(NamedTuple):
    """What may stand behind the question mark."""

    place: str | None = None
    fitter: Fitter = "shop"
    on: date | None = None


class ThinFit:
    """Answers known fit checks; hands on all else."""

    def __init__(self, app: Application) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on the request."""
        if scope["type"] == "http" and scope["method"] in ("GET", "HEAD"):
            steps = scope["path"].split("/")
            if len(steps) == _OPEN and steps[2] == "fitment":
                if await self._answer_open(steps, scope, send):
                    return
            elif (
                len(steps) == _PINNED
                and steps[4] == "fitment"
                and await self._answer_pinned(steps, scope, send)
            ):
                return
        await self.app(scope, receive, send)

    async def _answer_open(self, steps: list[str], scope: Scope, send: Send) -> bool:
        asked = read_query(scope["query_string"])
        if asked is None or steps[1] != "v1" or steps[0]:
            return False
        on = asked.on or scope["app"].state.today()
        question = FitQuestion(bike=steps[3], part=steps[4], place=asked.place, on=on, fitter=asked.fitter)
        scope["loomway_route"] = OPEN
        return await _answer(question, scope, send, REVALIDATE)

    async def _answer_pinned(self, steps: list[str], scope: Scope, send: Send) -> bool:
        asked, on = read_query(scope["query_string"]), read_day(steps[7])
        if asked is None or asked.on is not None or on is None:
            return False
        if steps[:3] != ["", "v1", "releases"] or steps[3] != scope["app"].state.serving.name:
            return False
        question = FitQuestion(bike=steps[5], part=steps[6], place=asked.place, on=on, fitter=asked.fitter)
        scope["loomway_route"] = PINNED
        return await _answer(question, scope, send, IMMUTABLE)


async def _answer(question: FitQuestion, scope: Scope, send: Send, cache_control: str) -> bool:
    serving: Serving = scope["app"].state.serving
    recipe = serving.table.find(question.bike, question.part, question.place, question.fitter, question.on)
    if recipe is None:
        return False
    has_already = b""
    for name, value in scope["headers"]:
        if name in NOT_PLAIN:
            return False
        if name == b"if-none-match":
            # Two such headers are one list; the framework reads the first alone.
            has_already = has_already or value
    content = fit_response(recipe, question, serving)
    etag = fit_tag(recipe, question, content)
    headers = _headers(serving, cache_control, etag.encode())
    if has_already and has(has_already.decode("latin-1"), etag):
        await send({"type": "http.response.start", "status": 304, "headers": headers})
        await send({"type": "http.response.body"})
        return True
    headers = [(b"content-length", b"%d" % len(content)), *headers, (b"content-type", b"application/json")]
    await send({"type": "http.response.start", "status": 200, "headers": headers})
    await send({"type": "http.response.body", "body": content if scope["method"] == "GET" else b""})
    return True


def _headers(serving: Serving, cache_control: str, etag: bytes) -> list[tuple[bytes, bytes]]:
    return [
        (b"etag", etag),
        (b"cache-control", _KINDS[cache_control]),
        (b"vary", RELEASE_HEADER.encode()),
        *serving.headers,
    ]


@lru_cache(maxsize=1_024)
def read_query(query: bytes) -> Query | None:
    """Read a plain query; None if there is anything about it that the framework should look at."""
    text = query.decode("latin-1")
    if not text:
        return Query()
    if not _QUERY.fullmatch(text):
        return None
    pairs = text.split("&")
    asked = dict(pair.split("=", 1) for pair in pairs)
    on = read_day(asked["on"]) if "on" in asked else None
    fitter = asked.get("fitter", "shop")
    strange = len(asked) < len(pairs) or asked.keys() - {"place", "fitter", "on"} or fitter not in FITTERS
    if strange or (on is None and "on" in asked):
        return None
    return Query(asked.get("place"), cast("Fitter", fitter), on)


@lru_cache(maxsize=1_024)
def read_day(text: str) -> date | None:
    """Read a day as it is written in addresses; None if it is none."""
    try:
        return date.fromisoformat(text) if _DAY.fullmatch(text) else None
    except ValueError:
        return None
