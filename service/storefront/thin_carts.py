"""Plain carts of which every piece is known."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date

from rules.errors import MalformedQuestion
from service.middleware import Message, Receive, Scope
from service.serving import Serving
from service.storefront.answers import cart_told
from service.storefront.reply import Heads, Reply, is_plain

PATH = "/v1/cart-checks"
PLAIN_BYTES = 16_000
"""Longest body that is looked at here: a hundred parts."""

_HEADERS = ((b"cache-control", b"no-store"), (b"content-type", b"application/json"))


class KnownCarts:
    """Answers plain carts of which every piece is known already.

    Args:
        limit_bytes: Of bodies that the service takes.
    """

    def __init__(self, limit_bytes: int) -> None:
        self.most_bytes = min(PLAIN_BYTES, limit_bytes)

    def is_one(self, scope: Scope, heads: Heads) -> bool:
        """Tell whether a cart is asked about, and there is nothing about the head that the framework should look at."""
        if scope["method"] != "POST" or scope["path"] != PATH:
            return False
        if heads.get(b"content-type") != b"application/json" or not is_plain(heads):
            return False
        length = heads.get(b"content-length", b"")
        return length.isdigit() and len(length) < 9 and int(length) <= self.most_bytes  # noqa: PLR2004 - no huge number is converted

    async def answer(self, scope: Scope, receive: Receive) -> tuple[Reply | None, Receive]:
        """Answer, and give how the body is received once more."""
        taken = [await receive()]
        while taken[-1].get("more_body"):
            taken.append(await receive())
        reply = self.known(scope, b"".join([x.get("body", b"") for x in taken]))
        return reply, receive if reply is not None else _again(taken, receive)

    def known(self, scope: Scope, body: bytes) -> Reply | None:
        """Answer a body."""
        # Once: another release may be served at the next look.
        state = scope["app"].state
        serving: Serving = state.serving
        content = _answer(body, serving, state.today)
        if content is None:
            return None
        headers = ((b"content-length", b"%d" % len(content)), *_HEADERS, *serving.headers)
        return Reply(200, PATH, headers, content, body, serving.name)


def _again(taken: list[Message], receive: Receive) -> Receive:
    """Give what was taken once more, then what comes after it."""
    ahead = iter(taken)

    async def received() -> Message:
        return next(ahead, None) or await receive()

    return received


def _answer(body: bytes, serving: Serving, today: Callable[[], date]) -> bytes | None:
    cart = serving.bodies.read(body, today)
    if cart is None:
        return None
    try:
        answer = serving.engine.known_cart(cart)
    except MalformedQuestion:
        return None
    return None if answer is None else cart_told(answer, cart, serving)
