"""The server of the benchmark of HTTP: the service as a shop runs it, with limits, figures and logs, beside constants."""

from __future__ import annotations

import asyncio
import socket
import sys
import tempfile
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import uvicorn
from fastapi import FastAPI, Response

from rules.catalog.price import PriceList
from rules.load import load_catalog
from rules.release import Release
from rules.stored import to_stored
from service.app import create_app
from service.garbage import settle
from service.releasing.files import read_directory, write_archive
from service.releasing.office import Office
from service.releasing.opening import open_standing
from service.settings import Settings
from service.shapes.catalog import Counts
from service.store.database import Database
from service.store.events import NewEvent
from service.store.history import History
from service.store.migrating import migrate
from service.store.releases import ReleaseStore
from service.terminal.serving import configure

TODAY = date(2026, 5, 4)
AT, BY = datetime(2026, 5, 4, 8, 0, tzinfo=UTC), "Sunniva"
CONSTANT = b"{" + b" " * 2_000 + b"}"
"""About as long as most answers."""

MANY = 60_000_000
"""Requests of one client in a minute: they are counted, as a shop has it, but all load comes from one address."""


class RawConstant:
    """Answers one address with constant bytes before anything of the service, and activates a release when told to."""

    def __init__(self, app: FastAPI) -> None:
        self.app = app

    async def __call__(self, scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] != "http" or scope["path"] not in ("/raw-constant", "/activate"):
            await self.app(scope, receive, send)
            return
        if scope["path"] == "/activate":
            await asyncio.to_thread(activate, self.app.state.office.database)
        headers = [(b"content-length", b"%d" % len(CONSTANT)), (b"content-type", b"application/json")]
        await send({"type": "http.response.start", "status": 200, "headers": headers})
        await send({"type": "http.response.body", "body": CONSTANT})


def keep_two(directory: Path, database: Database) -> None:
    """Keep the catalog, and the same with another price of every part, in a database, and serve the first."""
    migrate(database)
    catalog = load_catalog(directory)
    for dearer in (0, 100):
        prices = [_dearer(x, dearer) for x in catalog.price_lists]
        release = Release.of(replace(catalog, price_lists=tuple(prices)))
        ReleaseStore(database).keep(
            release.id,
            archive=write_archive(read_directory(directory)),
            stored=to_stored(release.catalog),
            counts=Counts.from_domain(release.catalog).model_dump(),
            by=BY,
            at=AT,
        )
        if not dearer:
            activate(database)


def _dearer(prices: PriceList, by: int) -> PriceList:
    return prices.model_copy(update={"prices": {part: price + by for part, price in prices.prices.items()}})


def activate(database: Database) -> None:
    """Serve the release that is not served now."""
    history, served = History(database), History(database).standing().release
    following = next(x.id for x in ReleaseStore(database).newest(2) if x.id != served)
    event = NewEvent(kind="activated", release=following, by=BY, at=AT, why="other prices")
    history.add(event, instead_of=served)


def make_app(directory: Path, folder: Path) -> FastAPI:
    """Make the service with a database and a log in a folder, and a route of the framework that answers with constant bytes."""
    database = Database(f"sqlite:///{folder / 'loomway.db'}")
    keep_two(directory, database)
    serving = open_standing(database, History(database).standing())
    assert serving is not None
    settings = Settings(decision_log=folder / "decisions.jsonl", requests_per_minute=MANY)
    app = create_app(
        serving.release, settings, serve=lambda _: serving, today=lambda: TODAY, office=Office(database)
    )

    @app.get("/framework-constant")
    async def framework_constant() -> Response:
        return Response(CONSTANT, media_type="application/json")

    # Addresses are looked up in order, and this one should cost the framework as little as can be.
    app.router.routes.insert(0, app.router.routes.pop())
    return app


def main() -> None:
    """Serve on a port, or a free one, and print it."""
    with tempfile.TemporaryDirectory(prefix="loomway-decisions-") as folder:
        app = make_app(Path(sys.argv[1]), Path(folder))
        port = int(sys.argv[2]) if len(sys.argv) > 2 else 0
        listening = socket.create_server(("127.0.0.1", port), backlog=2_048)
        config = configure(app)
        config.app = RawConstant(app)
        settle()
        print(listening.getsockname()[1], flush=True)
        uvicorn.Server(config).run(sockets=[listening])


if __name__ == "__main__":
    main()
