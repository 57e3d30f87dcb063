"""Thin layers around the application: one limits the body, one pins the release and names it, one answers HEAD."""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Mapping, MutableMapping
from typing import Any

from fastapi import HTTPException

from service.serving import RELEASE_HEADER

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
Application = Callable[[Scope, Receive, Send], Awaitable[None]]

MIN_RELEASE_HEADER = "Loomway-Min-Release"
WAITED_S, LOOKED_EVERY_S = 3.0, 0.05
"""How long a request waits for a process that has not taken over yet what the client has seen elsewhere [s]."""

_DIGITS = 15
_MIN_RELEASE = MIN_RELEASE_HEADER.lower().encode()

__all__ = ["MIN_RELEASE_HEADER", "RELEASE_HEADER", "BodyLimit", "HeadAsGet", "PinRelease"]


class BodyLimit:
    """Refuses a body as soon as it is known to be too long, announced or not.

    FastAPI's own limit answers in plain text, past the problem documents, so it is not used.
    """

    def __init__(
        self, app: Application, limit_bytes: int, uploads: Mapping[tuple[str, str], int] | None = None
    ) -> None:
        """Limit bodies.

        Args:
            uploads: By method and path, where another limit holds.
        """
        self.app = app
        self.limit_bytes = limit_bytes
        self.uploads = uploads or {}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request with its body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        limit = self.uploads.get((scope["method"], scope["path"]), self.limit_bytes)
        announced = _announced(scope)
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            if announced > limit:
                raise HTTPException(413)
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > limit:
                raise HTTPException(413)
            return message

        await self.app(scope, counted, send)


def _announced(scope: Scope) -> int:
    text: bytes = dict(scope["headers"]).get(b"content-length", b"0")
    # The server has refused what is no number; this only keeps a huge one from being converted.
    return int(text[:20]) if text.isdigit() else 0


class PinRelease:
    """Pins what is served to the request, so that no swap splits an answer, and names it in a header."""

    def __init__(self, app: Application) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request with its release."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        # Routes refuse what comes too early, so that it is refused like everything else.
        state["is_behind"] = not await _has_come(scope)
        state["serving"] = scope["app"].state.serving

        async def named(message: Message) -> None:
            if message["type"] == "http.response.start":
                # A request for an older release has pinned that one meanwhile.
                there = {name for name, _ in message["headers"]}
                missing = [x for x in state["serving"].headers if x[0] not in there]
                message["headers"] = [*message["headers"], *missing]
            await send(message)

        await self.app(scope, receive, named)


async def _has_come(scope: Scope) -> bool:
    """Wait a little until this process serves what the client has seen already; False if it does not come."""
    asked = next((value for name, value in scope["headers"] if name == _MIN_RELEASE), b"")
    # What is no number says nothing; a huge one is not converted.
    least = int(asked) if asked.isdigit() and len(asked) <= _DIGITS else 0
    for _ in range(round(WAITED_S / LOOKED_EVERY_S)):
        state = scope["app"].state
        if least == 0 or _is_at_least(state.serving.number, least):
            return True
        if state.office is not None:
            state.office.follower.hurry()
        await asyncio.sleep(LOOKED_EVERY_S)
    return False


def _is_at_least(number: int, least: int) -> bool:
    # Number 0 is served where no database says what is: nothing later can be meant.
    return number == 0 or number >= least


class HeadAsGet:
    """Answers HEAD as GET without its body (RFC 9110, 9.3.2), so that no route has to."""

    def __init__(self, app: Application) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on a HEAD request as GET, and send what is answered without its body."""
        if scope["type"] != "http" or scope["method"] != "HEAD":
            await self.app(scope, receive, send)
            return

        async def send_head(message: Message) -> None:
            await send({**message, "body": b""} if "body" in message else message)

        await self.app({**scope, "method": "GET"}, receive, send_head)
