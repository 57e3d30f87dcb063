"""The outermost layer: gives each request an id, limits how often one client asks, answers what is known, counts and notes."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from datetime import date
from itertools import count
from typing import cast

from fastapi import Request

from service.handlers import on_failure
from service.middleware import Application, Message, Receive, Scope, Send
from service.observing.decisions import DecisionLog, Note
from service.observing.figures import Figures
from service.observing.logs import LOG
from service.observing.rates import Rates
from service.observing.refusing import refuse
from service.problems import TOO_MANY
from service.representation import digest_of
from service.storefront.quick import Quick
from service.storefront.reply import Heads, Reply, heads_of

REQUEST_HEADER = b"loomway-request-id"
DECIDED = frozenset(
    {
        "/v1/fitment/{bike}/{part}",
        "/v1/releases/{release}/fitment/{bike}/{part}/{on}",
        "/v1/fitment-checks",
        "/v1/cart-checks",
        "/v1/bikes/{bike}/parts",
        "/v1/parts/{part}/bikes",
    }
)
"""What the decision log notes: whatever a shop sells by."""

FAILED = Reply(500)

COUNTED = "loomway_wait_s"
"""Where it stands in a scope that a request was counted, and how long its client has to wait [s]."""

SLOW_S = 1.0
"""A request that takes longer is logged [s]."""


class Observed:
    """Sees every request and every answer, and gives those answers itself that are known.

    Args:
        today: The day at the shop, which an answer may depend on.
        quick: Gives known answers.
        has_origins: Pages of other origins may ask; what they ask goes through the layer that lets them.
        decisions: Where answers are noted; None for nowhere.
        rates: How often one client may ask; None for as often as it likes.
    """

    def __init__(
        self,
        app: Application,
        figures: Figures,
        today: Callable[[], date],
        quick: Quick,
        *,
        has_origins: bool = False,
        decisions: DecisionLog | None = None,
        rates: Rates | None = None,
    ) -> None:
        self.app = app
        self.figures = figures
        self.today = today
        self.quick = quick
        self.has_origins = has_origins
        self.decisions = decisions
        self.rates = rates
        self._prefix = os.urandom(6).hex().encode()
        self._numbers = count(1)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or pass on the request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun, name = time.perf_counter(), self._name()
        heads = heads_of(scope)
        seen = FAILED
        try:
            wait_s = self._wait_s(scope, heads)
            reply = None
            if not wait_s and not self._is_from_elsewhere(heads):
                try:
                    reply, receive = await self.quick.answer(scope, heads, receive)
                except Exception as error:
                    # The framework answers for what fails within it; out here nobody else does.
                    failure = await on_failure(Request(scope), error)
                    await failure(scope, receive, self._look(scope, receive, send, name).send)
                    raise
            if reply is not None:
                await reply.with_header((REQUEST_HEADER, name)).give(scope, send)
                seen = reply
            else:
                seen = await self._pass_on(scope, receive, send, wait_s, name)
        finally:
            self._note(scope, name, seen, time.perf_counter() - begun)

    def known(self, scope: Scope, body: bytes) -> Reply | None:
        """Answer a request that has come whole, if its answer is known, counted and noted as any other."""
        begun, heads = time.perf_counter(), heads_of(scope)
        if self._wait_s(scope, heads) or self._is_from_elsewhere(heads):
            return None
        reply = self.quick.known(scope, heads, body)
        if reply is None:
            return None
        name = self._name()
        self._note(scope, name, reply, time.perf_counter() - begun)
        return reply.with_header((REQUEST_HEADER, name))

    def _name(self) -> bytes:
        return b"%b-%x" % (self._prefix, next(self._numbers))

    def _is_from_elsewhere(self, heads: Heads) -> bool:
        return self.has_origins and b"origin" in heads

    def _wait_s(self, scope: Scope, heads: Heads) -> int:
        """Count a request, once though it is looked at twice, and tell how long to wait [s]."""
        if self.rates is None:
            return 0
        if COUNTED not in scope:
            scope[COUNTED] = self.rates.wait_s(scope, heads)
        return cast("int", scope[COUNTED])

    async def _pass_on(self, scope: Scope, receive: Receive, send: Send, wait_s: int, name: bytes) -> Reply:
        look = self._look(scope, receive, send, name)
        if wait_s:
            self.figures.refused["rate"] += 1
            await refuse(scope, look.send, TOO_MANY, wait_s)
        else:
            await self.app(scope, look.receive, look.send)
        return look.seen()

    def _look(self, scope: Scope, receive: Receive, send: Send, name: bytes) -> _Look:
        return _Look(scope, receive, send, name, notes=self.decisions is not None)

    def _note(self, scope: Scope, name: bytes, seen: Reply, took_s: float) -> None:
        status, route = seen.status, seen.route or _route_of(scope)
        self.figures.count(scope["method"], route, status, took_s)
        if took_s > SLOW_S or status >= 500:  # noqa: PLR2004 -- RFC 9110, 15.6
            LOG.warning("request", id=name.decode(), route=route, status=status, took_s=round(took_s, 4))
        if self.decisions is not None and status == 200 and route in DECIDED:  # noqa: PLR2004 -- RFC 9110, 15.3.1
            self.decisions.add(
                Note(
                    time.time(),
                    name,
                    scope["method"],
                    scope["path"],
                    scope["query_string"],
                    seen.asked,
                    seen.release,
                    self.today(),
                    status,
                    # Here, since a thread that digests gives the interpreter up and wants it back for each answer.
                    seen.tag.strip(b'"') or digest_of(seen.content).encode(),
                )
            )
            self.figures.dropped = self.decisions.dropped


def _route_of(scope: Scope) -> str:
    """Give the template of the address; one word for all that is none of ours, since callers choose those."""
    return scope.get("loomway_route") or getattr(scope.get("route"), "path_format", None) or "none"


class _Look:
    """Looks at one request while others answer it."""

    def __init__(self, scope: Scope, receive: Receive, send: Send, name: bytes, *, notes: bool) -> None:
        self._scope = scope
        self._name = name
        self._status = 0
        self._receive = receive
        self._send = send
        self._notes = notes
        self._parts: list[bytes] = []
        self._sent: list[bytes] = []
        self._etag = self._release = b""

    def seen(self) -> Reply:
        """Sum up."""
        return Reply(
            status=self._status,
            content=b"".join(self._sent),
            asked=b"".join(self._parts),
            release=self._release.decode(),
            tag=self._etag,
        )

    async def receive(self) -> Message:
        message = await self._receive()
        if self._notes and message["type"] == "http.request":
            self._parts.append(message.get("body", b""))
        return message

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self._status = message["status"]
            headers = list(message["headers"])
            if self._notes:
                self._look(headers)
            message["headers"] = [*headers, (REQUEST_HEADER, self._name)]
        elif self._notes and not self._etag:
            self._sent.append(message.get("body", b""))
        await self._send(message)

    def _look(self, headers: Iterable[tuple[bytes, bytes]]) -> None:
        for name, value in headers:
            if name == b"etag":
                self._etag = value
            elif name == b"loomway-release":
                self._release = value
