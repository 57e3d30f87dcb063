"""What is plain, known and current is answered before the framework sees it, and nothing else.

All else goes on to the same operation of the framework, so there is one contract: its route finds the mistake, works out
what is new, and keeps that. Tests ask both and compare bytes.
"""

from __future__ import annotations

from service.middleware import Application, Receive, Scope, Send
from service.storefront.reply import Heads, Reply, heads_of
from service.storefront.thin import known_fit
from service.storefront.thin_carts import KnownCarts

STEMS = (b"/v1/fitment/", b"/v1/releases/", b"/v1/cart-checks")
"""How addresses begin to which an answer may be known."""


class Quick:
    """Answers known fit checks and carts.

    Args:
        limit_bytes: Of bodies that the service takes.
    """

    def __init__(self, limit_bytes: int) -> None:
        self.carts = KnownCarts(limit_bytes)

    def known(self, scope: Scope, heads: Heads, body: bytes) -> Reply | None:
        """Give what is known of a request that has come whole."""
        if self.carts.is_one(scope, heads):
            return self.carts.known(scope, body)
        return known_fit(scope, heads) if scope["method"] in ("GET", "HEAD") else None

    async def answer(self, scope: Scope, heads: Heads, receive: Receive) -> tuple[Reply | None, Receive]:
        """Give what is known, and how the body is received by whoever answers what is not."""
        if self.carts.is_one(scope, heads):
            return await self.carts.answer(scope, receive)
        return self.known(scope, heads, b""), receive


class QuickFirst:
    """A layer that answers what is known, for requests that must come through other layers first."""

    def __init__(self, app: Application, quick: Quick) -> None:
        self.app = app
        self.quick = quick

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on the request."""
        reply = None
        if scope["type"] == "http":
            reply, receive = await self.quick.answer(scope, heads_of(scope), receive)
        if reply is None:
            await self.app(scope, receive, send)
        else:
            scope["loomway_route"] = reply.route
            await reply.give(scope, send)
