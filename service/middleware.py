"""Two thin layers around the application: one limits the body, one pins the release and names it."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.types import ASGIApp, Message, Receive, Scope, Send

RELEASE_HEADER = "Loomway-Release"


class BodyLimit:
    """Refuses a body as soon as it is known to be too long, announced or not.

    FastAPI's own limit answers in plain text, past the problem documents, so it is not used.
    """

    def __init__(self, app: ASGIApp, limit_bytes: int) -> None:
        self.app = app
        self.limit_bytes = limit_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request with its body counted."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        announced = _content_length(scope)
        taken = 0

        async def counted() -> Message:
            nonlocal taken
            if announced > self.limit_bytes:
                raise HTTPException(413)
            message = await receive()
            taken += len(message.get("body", b""))
            if taken > self.limit_bytes:
                raise HTTPException(413)
            return message

        await self.app(scope, counted, send)


def _content_length(scope: Scope) -> int:
    text = Headers(scope=scope).get("content-length", "0")
    # The server has refused what is no number; this only keeps a huge one from being converted.
    return int(text[:20]) if text.isdecimal() else 0


class PinRelease:
    """Pins what is served to the request, so that no swap splits an answer, and names it in a header."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass on the request with its release."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        serving = scope["app"].state.serving
        scope.setdefault("state", {})["serving"] = serving

        async def named(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).setdefault(RELEASE_HEADER, serving.name)
            await send(message)

        await self.app(scope, receive, named)
