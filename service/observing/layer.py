"""The outermost layer: gives each request an id, counts it, limits how often one client asks, and notes what was answered."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable
from datetime import date
from itertools import count

from service.middleware import Application, Message, Receive, Scope, Send
from service.observing.decisions import Decision, DecisionLog, now
from service.observing.figures import Figures
from service.observing.logs import LOG
from service.observing.rates import Rates
from service.observing.refusing import refuse
from service.problems import TOO_MANY
from service.representation import digest_of

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

SLOW_S = 1.0
"""A request that takes longer is logged [s]."""


class Observed:
    """Sees every request and every answer.

    Args:
        today: The day at the shop, which an answer may depend on.
        decisions: Where answers are noted; None for nowhere.
        rates: How often one client may ask; None for as often as it likes.
    """

    def __init__(
        self,
        app: Application,
        figures: Figures,
        today: Callable[[], date],
        decisions: DecisionLog | None = None,
        rates: Rates | None = None,
    ) -> None:
        self.app = app
        self.figures = figures
        self.today = today
        self.decisions = decisions
        self.rates = rates
        self._prefix = os.urandom(6).hex()
        self._numbers = count(1)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun = time.perf_counter()
        seen = _Seen(
            scope, receive, send, f"{self._prefix}-{next(self._numbers):x}", self.decisions is not None
        )
        try:
            wait_s = self.rates.wait_s(scope) if self.rates is not None else 0
            if wait_s:
                self.figures.refused["rate"] += 1
                await refuse(scope, seen.send, TOO_MANY, wait_s)
            else:
                await self.app(scope, seen.receive, seen.send)
        except Exception:
            seen.status = 500
            raise
        finally:
            self._note(seen, time.perf_counter() - begun)

    def _note(self, seen: _Seen, took_s: float) -> None:
        route = seen.route
        self.figures.count(seen.scope["method"], route, seen.status, took_s)
        if took_s > SLOW_S or seen.status >= 500:  # noqa: PLR2004 -- RFC 9110, 15.6
            LOG.warning("request", id=seen.id, route=route, status=seen.status, took_s=round(took_s, 4))
        if self.decisions is not None and seen.status == 200 and route in DECIDED:  # noqa: PLR2004 -- RFC 9110, 15.3.1
            self.decisions.add(seen.decision(self.today()))
            self.figures.dropped = self.decisions.dropped


class _Seen:
    """One request, and what is seen of its answer."""

    __slots__ = (
        "_etag",
        "_notes",
        "_parts",
        "_receive",
        "_release",
        "_send",
        "_sent",
        "id",
        "scope",
        "status",
    )

    def __init__(self, scope: Scope, receive: Receive, send: Send, name: str, notes: bool) -> None:  # noqa: FBT001 -- whether anything is noted
        self.scope = scope
        self.id = name
        self.status = 0
        self._receive = receive
        self._send = send
        self._notes = notes
        self._parts: list[bytes] = []
        self._sent: list[bytes] = []
        self._etag = self._release = b""

    @property
    def route(self) -> str:
        """The template of the address; one word for all that is none of ours, since callers choose those."""
        route = self.scope.get("loomway_route") or getattr(self.scope.get("route"), "path_format", None)
        return route or "none"

    async def receive(self) -> Message:
        message = await self._receive()
        if self._notes and message["type"] == "http.request":
            self._parts.append(message.get("body", b""))
        return message

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            headers = message["headers"]
            if self._notes:
                self._look(headers)
            if type(headers) is not list:
                headers = message["headers"] = list(headers)
            headers.append((REQUEST_HEADER, self.id.encode()))
        elif self._notes and not self._etag:
            self._sent.append(message.get("body", b""))
        await self._send(message)

    def _look(self, headers: Iterable[tuple[bytes, bytes]]) -> None:
        for name, value in headers:
            if name == b"etag":
                self._etag = value
            elif name == b"loomway-release":
                self._release = value

    def decision(self, on: date) -> Decision:
        """Give what the log notes."""
        return Decision(
            at=now(),
            request=self.id,
            method=self.scope["method"],
            path=self.scope["path"],
            query=self.scope["query_string"].decode("latin-1"),
            body=b"".join(self._parts),
            release=self._release.decode(),
            on=on,
            status=self.status,
            digest=self._etag.strip(b'"').decode() or digest_of(b"".join(self._sent)),
        )
