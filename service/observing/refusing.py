"""What a layer outside of the framework refuses, as the problem document that it would be inside."""

from __future__ import annotations

from service.middleware import Scope, Send
from service.problems import MEDIA_TYPE, Kind, problem


async def refuse(scope: Scope, send: Send, kind: Kind, wait_s: int) -> None:
    """Answer with a problem, and when to come back [s] (RFC 9110, 10.2.3)."""
    serving = scope["app"].state.serving
    body = problem(kind, serving.name).model_dump_json().encode()
    headers = [
        (b"content-length", b"%d" % len(body)),
        (b"content-type", MEDIA_TYPE.encode()),
        (b"cache-control", b"no-store"),
        (b"retry-after", b"%d" % wait_s),
        *serving.headers,
    ]
    await send({"type": "http.response.start", "status": kind.status, "headers": headers})
    await send({"type": "http.response.body", "body": b"" if scope["method"] == "HEAD" else body})
