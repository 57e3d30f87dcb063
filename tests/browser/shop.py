"""A real server of the demo shop on a free port, and a real browser that visits it."""

from __future__ import annotations

import os
import shutil
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from json import dumps
from pathlib import Path
from urllib.parse import urlencode

import pytest
import uvicorn
from fastapi import FastAPI
from playwright.sync_api import Browser, sync_playwright

from service import story
from service.app import create_app
from service.plans.form import question_asked
from service.settings import DEMO_CATALOG, Settings
from tests.contract.whole import demo_release

WRITTEN = "http://127.0.0.1:8000"
"""The service's address as the product page has it."""

FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)

STORY = urlencode({"q": dumps(question_asked(story.PATH))})
"""The demo rider's question, as it stands in an address."""

TOLD = urlencode(
    [
        ("since", "tern-65@fairing_pods"),
        ("since_paid", "146"),
        ("who:fairing_pods", "home"),
        ("own", "dunlin-52@rear_pods"),
        ("own_name", "Eider pair"),
        ("own_ohm", "4"),
        ("measured", "places.rear_pods.geometry.depth_mm"),
        ("measured_value", "52"),
    ]
)
"""What a rider's bike brings that is no part of its model, as it stands in an address."""

SYSTEMS = (
    f"/desk/proposals?bike={story.BIKE}&rides=country&passenger=sometimes&listens=music&annoys=distorts"
    "&on=2026-05-18&fitter=shop&budget=400&on=2027-04-05&fitter=shop&budget=1500"
)
"""The address of what is proposed to a rider who has told a little."""
PATIENCE_MS = 300_000
"""Systems take up to five ways to look for."""


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """Serve an application, and give its address."""
    server = uvicorn.Server(uvicorn.Config(app, host="127.0.0.1", port=0, log_level="warning"))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    while not server.started:
        thread.join(0.05)
        assert thread.is_alive(), "the server did not start"
    port = server.servers[0].sockets[0].getsockname()[1]
    try:
        yield f"http://127.0.0.1:{port}"
    finally:
        server.should_exit = True
        thread.join(10)


class _Quiet(SimpleHTTPRequestHandler):
    """Serves a directory, and says nothing about it."""

    def log_message(self, *_: object) -> None:
        pass


@contextmanager
def product_page() -> Iterator[str]:
    """Serve the demo's product page on an origin of its own, the service on another, and give its address."""
    with tempfile.TemporaryDirectory(prefix="loomway-shop-") as folder:
        server = ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=folder))
        threading.Thread(target=server.serve_forever, daemon=True).start()
        origin = f"http://127.0.0.1:{server.server_port}"
        settings = Settings().model_copy(update={"allowed_origins": (origin,)})
        with served(create_app(demo_release(), settings, today=lambda: story.TODAY)) as service:
            text = (DEMO_CATALOG / "shop_page.html").read_text(encoding="utf-8").replace(WRITTEN, service)
            Path(folder, "index.html").write_text(text, encoding="utf-8")
            yield f"{origin}/index.html"
        server.shutdown()
        server.server_close()


def chromium() -> str:
    """Find the browser; without one its tests are skipped, and fail where nothing may be skipped."""
    found = shutil.which("chromium") or shutil.which("chromium-browser")
    if found is None:
        message = "Chromium is not installed (Debian: apt-get install chromium)"
        if os.environ.get("CI") == "true":
            pytest.fail(message)
        pytest.skip(message)
    return found


@contextmanager
def browser() -> Iterator[Browser]:
    """Start a browser."""
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=chromium(), args=[*FLAGS])
        try:
            yield started
        finally:
            started.close()


def axe_script() -> str:
    """Give the script that finds what shuts people out."""
    import axe_playwright_python

    return next(Path(axe_playwright_python.__file__).parent.rglob("axe.min.js")).read_text(encoding="utf-8")
