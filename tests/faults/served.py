"""A running service whose right answer is known apart from it, visitors who ask for it, and what they saw."""

from __future__ import annotations

import http.client
import resource
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass, field
from pathlib import Path

from rules.load import load_catalog
from rules.question import FitQuestion
from rules.release import Release
from service.serving import Serving
from service.storefront.answers import fit_recipe, fit_response
from tests.benchmarks.http_server import TODAY

DIRECTORY = Path(__file__).parents[1] / "contract" / "small_catalog"
BIKE, PART = "bittern-2019-plain", "curlew-slim"
KNOWN = f"/v1/fitment/{BIKE}/{PART}?on={TODAY}"


def right_answer() -> bytes:
    """Work the answer out apart from the service."""
    serving = Serving.of(Release.of(load_catalog(DIRECTORY)))
    question = FitQuestion(bike=BIKE, part=PART, on=TODAY)
    return fit_response(fit_recipe(question, serving), question.on, serving)


@dataclass
class Served:
    """A process of the service, which can be started anew on the same port, and what was seen of it."""

    right: bytes
    port: int = 0
    process: subprocess.Popen[str] | None = None
    asked: int = 0
    wrong: int = 0
    unanswered: int = 0
    status_500: int = 0
    statuses: set[int] = field(default_factory=set)

    def start(self) -> None:
        command = [sys.executable, "-m", "tests.benchmarks.http_server", str(DIRECTORY), str(self.port)]
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, text=True)
        assert self.process.stdout is not None
        self.port = int(self.process.stdout.readline())

    def stop(self) -> None:
        assert self.process is not None
        self.process.terminate()
        self.process.wait(30)

    def ask(self, method: str, path: str, body: bytes | None = None, **headers: str) -> int:
        """Ask once, and note the status."""
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request(method, path, body, {"Content-Type": "application/json", **headers})
            response = connection.getresponse()
            content = response.read()
        finally:
            connection.close()
        self.status_500 += response.status == http.client.INTERNAL_SERVER_ERROR
        self.statuses.add(response.status)
        if path == KNOWN and response.status == http.client.OK:
            self.asked += 1
            self.wrong += content != self.right
        return response.status

    def raw(self, sent: bytes) -> bytes:
        """Send bytes as they are, and give the beginning of what comes back."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=30) as connection:
            with suppress(OSError):
                connection.sendall(sent)
            try:
                told = connection.recv(100)
            except OSError:
                return b""
        self.status_500 += told.startswith(b"HTTP/1.1 500")
        return told

    def is_well(self) -> bool:
        with suppress(OSError, http.client.HTTPException):
            return self.ask("GET", KNOWN) == http.client.OK
        self.unanswered += 1
        return False

    def memory_mb(self) -> float:
        assert self.process is not None
        pages = int(Path(f"/proc/{self.process.pid}/statm").read_text().split()[1])
        return pages * resource.getpagesize() / 1e6


@contextmanager
def visitors(service: Served) -> Iterator[None]:
    """Let visitors ask all the while."""
    done = threading.Event()

    def visit() -> None:
        while not done.is_set():
            service.is_well()
            time.sleep(0.01)

    threads = [threading.Thread(target=visit, daemon=True) for _ in range(2)]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        done.set()
        for thread in threads:
            thread.join(60)
