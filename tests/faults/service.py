"""Does to one process of the service what the world does, and counts wrong answers, failures, and faults that it does not get over.

Run as `python -m tests.faults.service`, or with `--only NAME` and `--connections 10000`. Prints a line of JSON for each
fault, and the sum. Visitors ask for an answer that is known all the while. What can happen to a database and to
releases is in `tests.faults.releasing` and `tests.faults.activation`.
"""

from __future__ import annotations

import argparse
import http.client
import json
import resource
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
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
KNOWN = f"/v1/fitment/{BIKE}/{PART}"
RECOVERED_S = 15.0
GROWN_MB = 150


def right_answer() -> bytes:
    """Work the answer out apart from the service."""
    serving = Serving.of(Release.of(load_catalog(DIRECTORY)))
    question = FitQuestion(bike=BIKE, part=PART, on=TODAY)
    return fit_response(fit_recipe(question, serving), question, serving)


@dataclass
class Served:
    """A process of the service, which can be started anew on the same port, and what was seen of it."""

    right: bytes
    port: int = 0
    process: subprocess.Popen[str] | None = None
    asked: int = 0
    wrong: int = 0
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
        return False

    def memory_mb(self) -> float:
        assert self.process is not None
        pages = int(Path(f"/proc/{self.process.pid}/statm").read_text().split()[1])
        return pages * resource.getpagesize() / 1e6


def killed(service: Served) -> None:
    """Kill the process while it answers, and start another in its place."""
    assert service.process is not None
    for _ in range(3):
        time.sleep(0.5)
        service.process.send_signal(signal.SIGKILL)
        service.process.wait(30)
        service.start()


def stopped_gracefully(service: Served) -> None:
    """Stop it while it answers: it ends by itself, and with nothing left open."""
    assert service.process is not None
    service.process.terminate()
    service.process.wait(30)
    service.start()


def long_bodies(service: Served) -> None:
    """Send a hundred megabytes, announced and not."""
    head = "POST /v1/fitment-checks HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\n"
    piece = b" " * 1_000_000
    service.raw(head.encode() + b"Content-Length: 100000000\r\n\r\n" + piece * 100)
    chunk = b"f4240\r\n" + piece + b"\r\n"
    service.raw(head.encode() + b"Transfer-Encoding: chunked\r\n\r\n" + chunk * 100 + b"0\r\n\r\n")


def strange_bodies(service: Served) -> None:
    """Nest deeply, send what is no number, no text, and no JSON."""
    question = b'{"questions": [{"bike": %s, "part": "curlew-slim"}]}'
    values = [
        b"NaN",
        b"1e999",
        b"-Infinity",
        b"9" * 5_000,
        b"true",
        b"null",
        rb'"\ud800"',
        rb'"\u0000"',
        b'"\xff"',
    ]
    bodies = [question % value for value in values]
    bodies += [b"[" * 10_000 + b"]" * 10_000, b'{"questions":' * 10_000 + b"1" + b"}" * 10_000, b"", b"\x00"]
    for path in ("/v1/fitment-checks", "/v1/cart-checks", "/v1/paths"):
        for body in bodies:
            status = service.ask("POST", path, body)
            # Of many questions, each has a status of its own.
            assert status == http.client.OK or 400 <= status < 500, (path, body[:40], status)


def strange_addresses(service: Served) -> None:
    """Go up the tree, send null bytes, halves of pairs, and very long ids."""
    steps = [
        "%00",
        "%2e%2e%2f%2e%2e%2fetc%2fpasswd",
        "..",
        "%ED%A0%80",
        "%ff",
        "x" * 20_000,
        "a%0d%0aX:%20y",
        "%25",
    ]
    for step in steps:
        for path in (
            f"/v1/fitment/{step}/{PART}",
            f"/v1/fitment/{BIKE}/{step}",
            f"/v1/bikes/{step}",
            f"/{step}",
        ):
            status = service.ask("GET", path)
            assert 400 <= status < 500, (path[:60], status)


def header_floods(service: Served) -> None:
    """Send ten thousand headers, and one without end."""
    many = b"".join(b"X-%d: y\r\n" % number for number in range(10_000))
    for flood in (many, b"X: " + b"y" * 5_000_000):
        told = service.raw(b"GET " + KNOWN.encode() + b" HTTP/1.1\r\nHost: x\r\n" + flood)
        assert not told or told.startswith(b"HTTP/1.1 400"), told


def no_http(service: Served) -> None:
    """Speak something else."""
    for sent in (
        b"\x16\x03\x01\x02\x00\x01",
        b"\x00" * 1_000,
        b"BREW / HTTP/1.1\r\n\r\n",
        b"GET / HTTP/9.9\r\n\r\n",
    ):
        service.raw(sent)


def vanishing(service: Served) -> None:
    """Hang up in the middle of a head, of a body, and before the answer is read."""
    half = b"POST /v1/fitment-checks HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: 1000\r\n\r\n{"
    for sent in (b"GET /v1/fit", half, f"GET {KNOWN} HTTP/1.1\r\nHost: x\r\n\r\n".encode() * 50) * 100:
        with socket.create_connection(("127.0.0.1", service.port), timeout=30) as connection:
            connection.sendall(sent)


def slow_connections(service: Served, count: int) -> None:
    """Hold many connections that send a letter now and then; whoever asks meanwhile is answered."""
    held: list[socket.socket] = []
    try:
        for _ in range(count):
            held.append(socket.create_connection(("127.0.0.1", service.port), timeout=30))
            held[-1].sendall(b"GET /v1/fit")
        for _ in range(20):
            assert service.is_well()
        for connection in held[::10]:
            with suppress(OSError):
                connection.sendall(b"m")
    finally:
        for connection in held:
            connection.close()


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


def faults(connections: int) -> dict[str, Callable[[Served], None]]:
    """Give the faults by name."""
    return {
        "killed under load": killed,
        "stopped under load": stopped_gracefully,
        "bodies of 100 MB": long_bodies,
        "strange bodies": strange_bodies,
        "strange addresses": strange_addresses,
        "header floods": header_floods,
        "no HTTP": no_http,
        "clients that vanish": vanishing,
        f"{connections} slow connections": lambda service: slow_connections(service, connections),
    }


def inject(name: str, fault: Callable[[Served], None], service: Served) -> dict[str, object]:
    """Inject a fault under load, and see what is left of it."""
    asked, wrong, failed, memory = service.asked, service.wrong, service.status_500, service.memory_mb()
    begun = time.monotonic()
    trouble = ""
    with visitors(service):
        try:
            fault(service)
        except (AssertionError, OSError, http.client.HTTPException) as error:
            trouble = f"{type(error).__name__}: {error}"[:200]
    took, well = time.monotonic() - begun, False
    while not well and time.monotonic() - begun < took + RECOVERED_S:
        well = service.is_well()
    grown = service.memory_mb() - memory
    return {
        "fault": name,
        "asked": service.asked - asked,
        "wrong": service.wrong - wrong,
        "status_500": service.status_500 - failed,
        "unrecovered": int(not well or bool(trouble) or grown > GROWN_MB),
        "grown_mb": round(grown, 1),
        "seconds": round(took, 1),
        **({"trouble": trouble} if trouble else {}),
    }


def main() -> None:
    """Inject all, and print what was counted."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--connections", type=int, default=10_000)
    arguments.add_argument("--only", action="append", help="a fault's name; may be given several times")
    asked = arguments.parse_args()
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    service = Served(right_answer())
    service.start()
    totals = dict.fromkeys(("wrong", "status_500", "unrecovered"), 0)
    try:
        for name, fault in faults(asked.connections).items():
            if asked.only is None or name in asked.only:
                line = inject(name, fault, service)
                print(json.dumps(line), flush=True)
                totals = {key: count + int(str(line[key])) for key, count in totals.items()}
    finally:
        service.stop()
    print(json.dumps(totals))
    sys.exit(int(any(totals.values())))


if __name__ == "__main__":
    main()
