"""Plain carts of which every piece is known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any, TypeGuard

from pydantic_core import from_json

from rules.errors import MalformedQuestion
from rules.question import CartQuestion, Want
from service.middleware import Message, Receive, Scope
from service.serving import Serving
from service.storefront.answers import cart_told
from service.storefront.reply import Heads, Reply, is_plain
from service.storefront.thin import FITTERS, read_day

PATH = "/v1/cart-checks"
PLAIN_BYTES = 16_000
"""Longest body that is looked at here: a hundred parts."""

LONGEST_ID, MOST_PARTS = 80, 100
"""As `service.shapes` has them."""

_HEADERS = ((b"cache-control", b"no-store"), (b"content-type", b"application/json"))
_CART = frozenset({"bike", "parts", "on", "fitter"})

_WHOLE = 2
"""Fields of a line that says all that a line may say."""

LINES_KEPT = 50_000
"""Lines of carts that are read once."""

_LINES: dict[tuple[str, str | None], Want] = {}


class KnownCarts:
    """Answers plain carts of which every piece is known already.

    Args:
        limit_bytes: Of bodies that the service takes.
    """

    def __init__(self, limit_bytes: int) -> None:
        self.most_bytes = min(PLAIN_BYTES, limit_bytes)

    def is_one(self, scope: Scope, heads: Heads) -> bool:
        """Tell whether a cart is asked about, and there is nothing about the head that the framework should look at."""
        if scope["path"] != PATH or heads.get(b"content-type") != b"application/json" or not is_plain(heads):
            return False
        length = heads.get(b"content-length", b"")
        return length.isdigit() and len(length) < 9 and int(length) <= self.most_bytes  # noqa: PLR2004 - no huge number is converted

    async def answer(self, scope: Scope, receive: Receive) -> tuple[Reply | None, Receive]:
        """Answer, and give how the body is received once more."""
        taken = [await receive()]
        while taken[-1].get("more_body"):
            taken.append(await receive())
        body = b"".join([x.get("body", b"") for x in taken])
        content = _answer(body, scope)
        if content is None:
            return None, _again(taken, receive)
        serving: Serving = scope["app"].state.serving
        headers = ((b"content-length", b"%d" % len(content)), *_HEADERS, *serving.headers)
        return Reply(200, PATH, headers, content, body, serving.name), receive


def _again(taken: list[Message], receive: Receive) -> Receive:
    """Give what was taken once more, then what comes after it."""
    ahead = iter(taken)

    async def received() -> Message:
        return next(ahead, None) or await receive()

    return received


def _answer(body: bytes, scope: Scope) -> bytes | None:
    app = scope["app"]
    question = read_cart(body, app.state.today)
    if question is None:
        return None
    serving: Serving = app.state.serving
    try:
        answer = serving.engine.known_cart(question)
    except MalformedQuestion:
        return None
    return None if answer is None else cart_told(answer, question, serving)


def read_cart(body: bytes, today: Callable[[], date]) -> CartQuestion | None:
    """Read a plain cart; None if there is anything about it that the framework should look at."""
    try:
        asked = from_json(body)
    except ValueError:
        return None
    if type(asked) is not dict or not asked.keys() <= _CART or type(asked.get("parts")) is not list:
        return None
    bike, fitter, written = asked.get("bike"), asked.get("fitter", "shop"), asked.get("on")
    on = today() if written is None else read_day(written) if type(written) is str else None
    wants = _wants(asked["parts"])
    if wants is None or not _is_id(bike) or fitter not in FITTERS or on is None:
        return None
    return CartQuestion(bike=bike, wants=wants, on=on, fitter=fitter)


def _wants(lines: list[Any]) -> tuple[Want, ...] | None:
    if not 1 <= len(lines) <= MOST_PARTS:
        return None
    try:
        known = [_LINES[line["part"], line["place"]] for line in lines if len(line) == _WHOLE]
        if len(known) == len(lines):
            return tuple(known)
    except KeyError:
        pass
    except TypeError:
        # A line is no object, or something in it is no id.
        return None
    return _wants_anew(lines)


def _wants_anew(lines: list[Any]) -> tuple[Want, ...] | None:
    try:
        return tuple([_want(**line) for line in lines])
    except TypeError:
        # Or it has other keys.
        return None


def _want(part: object, place: object = None) -> Want:
    if not _is_id(part) or not (place is None or _is_id(place)):
        raise TypeError
    want = Want(parts=(part,), place=place)
    if len(_LINES) >= LINES_KEPT:
        _LINES.clear()
    _LINES[part, place] = want
    return want


def _is_id(word: object) -> TypeGuard[str]:
    return type(word) is str and 1 <= len(word) <= LONGEST_ID
