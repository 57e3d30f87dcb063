"""Give logged answers again, and compare them to the byte."""

from __future__ import annotations

import asyncio
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from fastapi import FastAPI

from service.middleware import RELEASE_HEADER, Message, Scope
from service.observing.decisions import Decision
from service.representation import digest_of


class Replayed(NamedTuple):
    """What came of one logged answer: `same` if it is the same bytes, and the status that it has now."""

    decision: Decision
    same: bool
    status: int


def replay(app: FastAPI, decisions: Iterable[Decision]) -> Iterator[Replayed]:
    """Ask each question again, on its day and of its release; a release that is not there is no longer the same."""
    for decision in decisions:
        app.state.today = lambda on=decision.on: on
        status, content = asyncio.run(_ask(app, decision))
        yield Replayed(decision, same=digest_of(content) == decision.digest, status=status)


async def _ask(app: FastAPI, decision: Decision) -> tuple[int, bytes]:
    parts: list[bytes] = []
    status = 0

    async def receive() -> Message:
        return {"type": "http.request", "body": decision.body, "more_body": False}

    async def send(message: Message) -> None:
        nonlocal status
        status = message.get("status", status)
        parts.append(message.get("body", b""))

    await app(_scope(decision), receive, send)
    return status, b"".join(parts)


def _scope(decision: Decision) -> Scope:
    headers = [(RELEASE_HEADER.lower().encode(), decision.release.encode())]
    if decision.body:
        headers.append((b"content-type", b"application/json"))
    return {
        "type": "http",
        "method": "GET" if decision.method == "HEAD" else decision.method,
        "path": decision.path,
        "raw_path": decision.path.encode(),
        "query_string": decision.query.encode("latin-1"),
        "headers": headers,
        "http_version": "1.1",
        "scheme": "http",
        "server": None,
        "client": None,
        "root_path": "",
        "state": {},
    }
