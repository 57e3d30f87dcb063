"""Plain carts of which every piece is known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

from pydantic_core import from_json

from rules.errors import MalformedQuestion
from rules.question import CartLines
from service.middleware import Message, Receive, Scope
from service.serving import Serving
from service.storefront.answers import cart_told
from service.storefront.reply import Heads, Reply, is_plain
from service.storefront.thin import FITTERS, read_day

PATH = "/v1/cart-checks"
PLAIN_BYTES = 16_000
"""Longest body that is looked at here: a hundred parts."""

MOST_PARTS = 100
"""As `service.shapes` has it."""

_HEADERS = ((b"cache-control", b"no-store"), (b"content-type", b"application/json"))
_CART, _LINE = frozenset({"bike", "parts", "on", "fitter"}), frozenset({"part", "place"})


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
    cart = read_cart(body, app.state.today)
    if cart is None:
        return None
    serving: Serving = app.state.serving
    try:
        answer = serving.engine.known_cart(cart)
    except MalformedQuestion:
        return None
    return None if answer is None else cart_told(answer, cart, serving)


def read_cart(body: bytes, today: Callable[[], date]) -> CartLines | None:
    """Read a plain cart; None if there is anything about it that the framework should look at, but ids that nobody knows."""
    try:
        asked = from_json(body)
    except ValueError:
        return None
    if type(asked) is not dict or not asked.keys() <= _CART or type(asked.get("parts")) is not list:
        return None
    bike, fitter, written = asked.get("bike"), asked.get("fitter", "shop"), asked.get("on")
    on = today() if written is None else read_day(written) if type(written) is str else None
    lines = _lines(asked["parts"])
    if lines is None or type(bike) is not str or fitter not in FITTERS or on is None:
        return None
    return CartLines(bike, lines, on, fitter)


def _lines(parts: list[Any]) -> tuple[tuple[str, str | None], ...] | None:
    if not 1 <= len(parts) <= MOST_PARTS:
        return None
    try:
        lines = [(x["part"], x["place"]) for x in parts if len(x) == len(_LINE)]
        if len(lines) < len(parts):
            lines = [(x["part"], x.get("place")) for x in parts if x.keys() <= _LINE]
    except (AttributeError, KeyError, TypeError):
        return None
    if len(lines) < len(parts):
        return None
    if [x for x in lines if type(x[0]) is not str or not (x[1] is None or type(x[1]) is str)]:
        return None
    return tuple(lines)
