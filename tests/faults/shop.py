"""A shop under test: a database with releases whose right answers are known, services on it, and visitors who check each answer."""

from __future__ import annotations

import http.client
import json
import os
import re
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from service.serving import Serving
from service.store.database import Database
from service.store.keys import KeyStore
from service.store.migrating import migrate
from tests.releasing.shelves import ASKED, BIKE, PART, PLACE, release_of, serve

FIT = f"/v1/fitment/{BIKE}/{PART}?place={PLACE}&on=2026-05-01"
BATCH = {"questions": [{"bike": BIKE, "part": PART, "place": PLACE, "on": "2026-05-01"}] * 20}


@dataclass(slots=True)
class Count:
    """What visitors found. `wrong` answers are not those of the release that they name."""

    asked: int = 0
    failed: int = 0
    mixed_release: int = 0
    wrong: int = 0
    seen: set[str] = field(default_factory=set)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def told(self) -> dict[str, int]:
        return {"failed": self.failed, "mixed_release": self.mixed_release, "wrong": self.wrong}

    def add(self, **found: int) -> None:
        with self.lock:
            for name, number in found.items():
                setattr(self, name, getattr(self, name) + number)


class Shop:
    """One database, and what its releases answer: known from the catalogs alone, not from the service."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.database = Database(address)
        migrate(self.database)
        self.totals: dict[str, int | None] = {}
        self.key = KeyStore(self.database).add("a visitor's manager", "catalog", datetime.now(UTC))[1]

    def serve(self, archive: bytes) -> str:
        """Serve a release without asking more of it, and learn its right answer."""
        serve(self.database, archive)
        return self.learn(archive)

    def learn(self, archive: bytes) -> str:
        """Learn the right answer of a release."""
        found = Serving.of(release_of(archive))
        self.totals[found.release.id] = found.fit(ASKED).total
        return found.release.id


@dataclass(frozen=True, slots=True)
class Service:
    """A running process."""

    port: int
    process: subprocess.Popen[str]

    def ask(
        self, method: str, path: str, body: object = None, headers: dict[str, str] | None = None
    ) -> tuple[int, dict[str, str], Any]:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=120)
        try:
            content = None if body is None else body if isinstance(body, bytes) else json.dumps(body).encode()
            kind = {} if body is None else {"Content-Type": "application/json"}
            connection.request(method, path, content, {**kind, **(headers or {})})
            answer = connection.getresponse()
            told = {name.lower(): value for name, value in answer.getheaders()}
            return answer.status, told, json.loads(answer.read())
        finally:
            connection.close()

    def serves(self) -> str:
        """The id of what it serves."""
        return str(self.ask("GET", "/health/ready")[2]["release"]["id"])

    def wait_until_it_serves(self, release: str, seconds: float = 300) -> float:
        """Wait, and give the seconds that it took."""
        began = time.monotonic()
        while time.monotonic() - began < seconds:
            with suppress(OSError, http.client.HTTPException, ValueError):
                if self.serves() == release:
                    return time.monotonic() - began
            time.sleep(0.01)
        raise TimeoutError(f"{release} is not served after {seconds} s")


@contextmanager
def serving(address: str, follow_s: float = 0.02, workers: int = 1, **settings: str) -> Iterator[Service]:
    """Run `loomway serve` on a database, with further settings."""
    environ = {
        **os.environ,
        "LOOMWAY_DATABASE_URL": address,
        "LOOMWAY_PORT": "0",
        "LOOMWAY_FOLLOW_SECONDS": str(follow_s),
        **{f"LOOMWAY_{name.upper()}": value for name, value in settings.items()},
    }
    process = subprocess.Popen(
        [sys.executable, "-c", "from service.cli import main; main()", "serve", f"--workers={workers}"],
        env=environ,
        stderr=subprocess.PIPE,
        text=True,
    )
    try:
        yield Service(_port(process), process)
    finally:
        process.terminate()
        with suppress(subprocess.TimeoutExpired):
            process.wait(timeout=30)
        process.kill()
        process.wait()
        if process.stderr:
            process.stderr.close()


def _port(process: subprocess.Popen[str]) -> int:
    assert process.stderr
    said = []
    for line in process.stderr:
        said.append(line)
        found = re.search(r"http://127\.0\.0\.1:(\d+)/", line)
        if found:
            return int(found[1])
    raise RuntimeError("the service did not start: " + "".join(said))


def visit(shop: Shop, service: Service, count: Count, until: threading.Event) -> None:
    """Ask and check, until told to stop."""
    while not until.is_set():
        with suppress_failures(count):
            check_fit(shop, *service.ask("GET", FIT), count)
            check_batch(shop, *service.ask("POST", "/v1/fitment-checks", BATCH), count)


@contextmanager
def suppress_failures(count: Count) -> Iterator[None]:
    """Count a request that nobody answered."""
    try:
        yield
    except (OSError, http.client.HTTPException, ValueError):
        count.add(failed=1)


def check_fit(shop: Shop, status: int, headers: dict[str, str], told: Any, count: Count) -> None:
    """Compare one answer with that of the release which it names."""
    count.add(asked=1)
    if status != 200:
        count.add(failed=1)
        return
    release = told["release"]
    count.seen.add(release["id"])
    mixed = headers["loomway-release"] != release["name"]
    count.add(mixed_release=mixed, wrong=told["answer"]["total_minor"] != shop.totals[release["id"]])


def check_batch(shop: Shop, status: int, headers: dict[str, str], told: Any, count: Count) -> None:
    """Compare many answers: all from one release, and each that release's own."""
    count.add(asked=1)
    if status != 200:
        count.add(failed=1)
        return
    totals = {result["answer"]["total_minor"] for result in told["results"]}
    mixed = len(totals) > 1 or headers["loomway-release"] != told["release"]["name"]
    count.add(mixed_release=mixed, wrong=totals != {shop.totals[told["release"]["id"]]})


@contextmanager
def visitors(shop: Shop, services: list[Service], each: int = 2) -> Iterator[Count]:
    """Let visitors ask all the while."""
    count, until = Count(), threading.Event()
    threads = [
        threading.Thread(target=visit, args=[shop, service, count, until])
        for service in services
        for _ in range(each)
    ]
    for thread in threads:
        thread.start()
    try:
        yield count
    finally:
        until.set()
        for thread in threads:
            thread.join()


@contextmanager
def sqlite_shop() -> Iterator[Shop]:
    """A shop on SQLite, in a directory of its own."""
    with tempfile.TemporaryDirectory(prefix="loomway-faults-") as directory:
        shop = Shop(f"sqlite:///{Path(directory)}/loomway.db")
        yield shop
        shop.database.close()
