"""Does to the service, in one process and in several, what the world does; counts what is wrong, and what it does not get over.

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
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from itertools import chain
from typing import TypeVar

from tests.faults.served import BIKE, KNOWN, PART, Served, right_answer, visitors
from tests.faults.workers import Crew, activated_everywhere, crew_faults

RECOVERED_S = 15.0
GROWN_MB = 150
ACTIVATED = "activations among workers"
S = TypeVar("S", bound=Served)


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


def inject(name: str, fault: Callable[[S], None], service: S) -> dict[str, object]:
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


def _injected(
    service: S, faults: dict[str, Callable[[S], None]], only: list[str] | None
) -> Iterator[dict[str, object]]:
    wanted = {name: fault for name, fault in faults.items() if only is None or name in only}
    if wanted:
        service.start()
        try:
            yield from (inject(name, fault, service) for name, fault in wanted.items())
        finally:
            service.stop()


def _activated(only: list[str] | None) -> Iterator[dict[str, object]]:
    if only is None or ACTIVATED in only:
        for name, found in activated_everywhere().items():
            yield {"fault": name, "status_500": 0, **found}


def main() -> None:
    """Inject all, and print what was counted."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--connections", type=int, default=10_000)
    arguments.add_argument("--only", action="append", help="a fault's name; may be given several times")
    asked = arguments.parse_args()
    _, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (hard, hard))
    lines = _injected(Served(right_answer()), faults(asked.connections), asked.only)
    crew = _injected(Crew(right_answer()), crew_faults(), asked.only)
    totals = dict.fromkeys(("wrong", "status_500", "unrecovered"), 0)
    for line in chain(lines, crew, _activated(asked.only)):
        print(json.dumps(line), flush=True)
        totals = {key: count + int(str(line[key])) for key, count in totals.items()}
    print(json.dumps(totals))
    sys.exit(int(any(totals.values())))


if __name__ == "__main__":
    main()
