"""Plain fit checks that are known."""

from __future__ import annotations

import re
from datetime import date
from functools import lru_cache
from typing import NamedTuple, cast

from rules.question import Fitter
from service.middleware import RELEASE_HEADER, Scope
from service.representation import IMMUTABLE, REVALIDATE, has
from service.serving import Serving
from service.storefront.answers import fit_response, fit_tag
from service.storefront.reading import FITTERS, read_day
from service.storefront.reply import Heads, Reply, is_plain

_QUERY = re.compile(r"[a-z]+=[A-Za-z0-9_-]+(?:&[a-z]+=[A-Za-z0-9_-]+)*", re.ASCII)
_JSON = (b"content-type", b"application/json")
OPEN, PINNED = "/v1/fitment/{bike}/{part}", "/v1/releases/{release}/fitment/{bike}/{part}/{on}"
_OPEN, _PINNED = OPEN.count("/") + 1, PINNED.count("/") + 1
"""Steps of an address, with the empty one before the first slash."""

_HEADERS = {
    route: ((b"cache-control", control.encode()), (b"vary", RELEASE_HEADER.encode()))
    for route, control in ((OPEN, REVALIDATE), (PINNED, IMMUTABLE))
}


class Query(NamedTuple):
    """What may stand behind the question mark."""

    place: str | None = None
    fitter: Fitter = "shop"
    on: date | None = None


def known_fit(scope: Scope, heads: Heads) -> Reply | None:
    """Answer a fit check; None if there is anything about it that the framework should look at."""
    steps = scope["path"].split("/")
    if len(steps) == _OPEN:
        return _open_fit(steps, scope, heads) if steps[2] == "fitment" else None
    if len(steps) == _PINNED and steps[4] == "fitment":
        return _pinned_fit(steps, scope, heads)
    return None


def _open_fit(steps: list[str], scope: Scope, heads: Heads) -> Reply | None:
    asked = read_query(scope["query_string"])
    if asked is None or steps[1] != "v1" or steps[0]:
        return None
    state = scope["app"].state
    return _reply(steps[3], steps[4], asked.on or state.today(), asked, state.serving, scope, heads, OPEN)


def _pinned_fit(steps: list[str], scope: Scope, heads: Heads) -> Reply | None:
    asked, on = read_query(scope["query_string"]), read_day(steps[7])
    if asked is None or asked.on is not None or on is None:
        return None
    # Once: another may be served at the next look.
    serving: Serving = scope["app"].state.serving
    if steps[:3] != ["", "v1", "releases"] or steps[3] != serving.name:
        return None
    return _reply(steps[5], steps[6], on, asked, serving, scope, heads, PINNED)


def _reply(
    bike: str, part: str, on: date, asked: Query, serving: Serving, scope: Scope, heads: Heads, route: str
) -> Reply | None:
    place, fitter, _ = asked
    recipe = serving.table.find(bike, part, place, fitter, on)
    if recipe is None:
        scope["loomway_route"] = route
        return None
    if not is_plain(heads):
        return None
    content = fit_response(recipe, on, serving, fitter, place)
    tag = fit_tag(recipe, on, content)
    headers = ((b"etag", tag), *_HEADERS[route], *serving.headers)
    has_already = heads.get(b"if-none-match")
    if has_already and has(has_already.decode("latin-1"), tag.decode()):
        return Reply(304, route, headers, release=serving.name)
    headers = (*headers, (b"content-length", b"%d" % len(content)), _JSON)
    return Reply(200, route, headers, content, b"", serving.name, tag)


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
