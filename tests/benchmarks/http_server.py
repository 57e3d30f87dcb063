"""The server of the benchmark of HTTP: the service as a shop runs it, with limits, figures and logs, beside constants."""

from __future__ import annotations

import asyncio
import socket
import sys
import tempfile
from datetime import date
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI, Response

from rules.load import load_catalog
from rules.release import Release
from service.app import create_app
from service.serving import Serving
from service.settings import Settings
from service.terminal.serving import configure

TODAY = date(2026, 5, 4)
CONSTANT = b"{" + b" " * 2_000 + b"}"
"""About as long as most answers."""

MANY = 60_000_000
"""Requests of one client in a minute: they are counted, as a shop has it, but all load comes from one address."""


class RawConstant:
    """Answers one address with constant bytes before anything of the service, and swaps releases when told to."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] != "http" or scope["path"] not in ("/raw-constant", "/activate"):
            await self.app(scope, receive, send)
            return
        if scope["path"] == "/activate":
            self.activating = asyncio.create_task(self.activate())
        headers = [(b"content-length", b"%d" % len(CONSTANT)), (b"content-type", b"application/json")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": CONSTANT})

    async def activate(self) -> None:
        """Make the same catalog ready under another name, as a follower does, and swap it in."""
        await asyncio.sleep(1)
        old: Serving = self.app.state.serving
        release = Release(catalog=old.release.catalog, id=f"{old.release.id}x")
        self.app.state.serving = await asyncio.to_thread(Serving.of, release)


def make_app(directory: Path, log: Path) -> FastAPI:
    """Make the service, with a route of the framework that answers with constant bytes."""
    release = Release.of(load_catalog(directory))
    settings = Settings(decision_log=log, requests_per_minute=MANY)
    app = create_app(release, settings, today=lambda: TODAY)

    @app.get("/framework-constant")
    async def framework_constant() -> Response:
        return Response(CONSTANT, media_type="application/json")

    # Addresses are looked up in order, and this one should cost the framework as little as can be.
    app.router.routes.insert(0, app.router.routes.pop())
    return app


def main() -> None:
    """Serve on a port, or a free one, and print it."""
    with tempfile.TemporaryDirectory(prefix="loomway-decisions-") as folder:
        app = make_app(Path(sys.argv[1]), Path(folder) / "decisions.jsonl")
        port = int(sys.argv[2]) if len(sys.argv) > 2 else 0
        listening = socket.create_server(("127.0.0.1", port), backlog=2_048)
        config = configure(app)
        config.app = RawConstant(app)
        print(listening.getsockname()[1], flush=True)
        uvicorn.Server(config).run(sockets=[listening])


if __name__ == "__main__":
    main()
