"""Lets a shop run for a while at half of what it can do, and tells what became of answers, times and memory.

Run as `python -m tests.faults.soak --minutes 10`. One process of `loomway serve` on SQLite, with limits, figures, logs and
decision log on, is asked as a shop's visitors ask: fit checks pinned and not, lists, carts, batches; a plan and a release now
and then. Prints one line of JSON. Times count from when a question was due, so that waiting for a slow one is not left out.
"""

from __future__ import annotations

import argparse
import hashlib
import http.client
import json
import re
import resource
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from itertools import chain, count, cycle
from pathlib import Path
from random import Random
from statistics import median, quantiles
from typing import Any, NamedTuple

from rules.catalog.catalog import Catalog
from rules.load import load_catalog
from service.releasing.files import read_directory, write_archive
from service.store.database import Database
from service.store.keys import KeyStore
from service.store.migrating import migrate
from tests.benchmarks.catalogs import draw_catalog, write_catalog
from tests.benchmarks.http import SIZE, batches_of, carts_of, pairs_of
from tests.benchmarks.http_server import MANY
from tests.faults.shop import Service, serving
from tests.releasing.shelves import serve

ON = "2026-05-04"
VISITORS = 4
PAIRS, CARTS, BIKES, BATCH = 1_000, 60, 12, 50
IDLE_S = 3.0
PLAN_EVERY_S, RELEASE_EVERY_S = 15.0, 60.0
WARM = 0.3
"""Share of the time after which memory is looked at first: by then each release has been served, and is held."""

FLAT = 1.05
"""How much more memory at the end than after warming up counts as flat."""


class Question(NamedTuple):
    """One request, and what kind it is of."""

    kind: str
    method: str
    path: str
    body: bytes | None = None


@dataclass
class Seen:
    """What visitors saw. The same question to the same release must always have the same answer."""

    errors: Counter[str] = field(default_factory=Counter)
    wrong: int = 0
    took_ms: dict[str, list[float]] = field(default_factory=dict)
    digests: dict[tuple[str, Question], str] = field(default_factory=dict)
    lock: threading.Lock = field(default_factory=threading.Lock)

    def note(self, question: Question, status: int, release: str, content: bytes, took_s: float) -> None:
        digest = hashlib.sha256(content).hexdigest()
        with self.lock:
            self.took_ms.setdefault(question.kind, []).append(1000 * took_s)
            if status != http.client.OK:
                self.errors[f"{question.kind} {status}"] += 1
            else:
                self.wrong += self.digests.setdefault((release, question), digest) != digest

    def failed(self, question: Question, error: Exception) -> None:
        with self.lock:
            self.errors[f"{question.kind} {type(error).__name__}"] += 1


class Visitor:
    """One connection that is kept open."""

    def __init__(self, port: int, seen: Seen) -> None:
        self.connection = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
        self.seen = seen
        self.used = time.perf_counter()

    def ask(self, question: Question, due: float | None = None) -> None:
        begun = due or time.perf_counter()
        if time.perf_counter() - self.used > IDLE_S:
            # The service closes what is idle; a browser opens another, too.
            self.connection.close()
        headers = {"Content-Type": "application/json"} if question.body else {}
        try:
            self.connection.request(question.method, question.path, question.body, headers)
            answer = self.connection.getresponse()
            content = answer.read()
        except (OSError, http.client.HTTPException) as error:
            self.connection.close()
            self.seen.failed(question, error)
            return
        self.used = time.perf_counter()
        release = answer.headers["Loomway-Release"]
        self.seen.note(question, answer.status, release, content, time.perf_counter() - begun)


def questions(catalog: Catalog, names: list[str]) -> dict[str, list[Question]]:
    """Give what is asked, by kind."""
    random = Random(1)
    pairs = pairs_of(catalog, random)[:PAIRS]
    carts = carts_of(catalog, random)[:CARTS]
    batches = batches_of(pairs, BATCH)
    pinned = [f"/v1/releases/{name}/{pair.removeprefix('/v1/')}/{ON}" for name in names for pair in pairs]
    bikes = random.sample(sorted(catalog.bikes), BIKES)
    plans = [json.dumps(_plan(catalog, bike, random)) for bike in bikes]
    return {
        "fit": [Question("fit", "GET", f"{pair}?on={ON}") for pair in pairs],
        "pinned": [Question("pinned", "GET", path) for path in pinned],
        "list": [Question("list", "GET", f"/v1/bikes/{x}/parts?kind=grille&on={ON}") for x in bikes],
        "batch": [Question("batch", "POST", "/v1/fitment-checks", x.encode()) for x in batches],
        "cart": [Question("cart", "POST", "/v1/cart-checks", x.encode()) for x in carts],
        "plan": [Question("plan", "POST", "/v1/paths", x.encode()) for x in plans],
    }


def _plan(catalog: Catalog, bike: str, random: Random) -> dict[str, Any]:
    """Want one of some speakers by the second visit."""
    speakers = [x.id for x in catalog.parts.values() if x.kind == "speaker" and not x.stock_only]
    visits = [{"on": ON, "budget_minor": 60_000}, {"on": "2027-04-05"}]
    return {"bike": bike, "visits": visits, "wants": [{"any_of": random.sample(speakers, 8)}]}


WEIGHTS = {"fit": 60, "pinned": 20, "list": 8, "batch": 4, "cart": 8}


def drawn(asked: dict[str, list[Question]], seed: int) -> Iterator[Question]:
    """Draw questions without end."""
    random = Random(seed)
    kinds, weights = list(WEIGHTS), list(WEIGHTS.values())
    while True:
        yield random.choice(asked[random.choices(kinds, weights)[0]])


@contextmanager
def running(works: list[Callable[[threading.Event], None]]) -> Iterator[None]:
    """Let threads work until the end."""
    until = threading.Event()
    threads = [threading.Thread(target=work, args=[until], daemon=True) for work in works]
    for thread in threads:
        thread.start()
    try:
        yield
    finally:
        until.set()
        for thread in threads:
            thread.join(180)


def capacity(port: int, asked: dict[str, list[Question]], release: Callable[[], object]) -> float:
    """Ask everything once, and then as much as can be asked from one release to the next.

    Returns: Questions a second.
    """
    seen, done = Seen(), Counter[int]()
    visitor = Visitor(port, seen)
    for question in chain.from_iterable(asked.values()):
        visitor.ask(question)

    def work(number: int) -> Callable[[threading.Event], None]:
        def ask(until: threading.Event) -> None:
            visitor = Visitor(port, seen)
            for question in drawn(asked, number):
                if until.is_set():
                    return
                visitor.ask(question)
                done[number] += 1

        return ask

    release()
    with running([work(number) for number in range(VISITORS)]):
        time.sleep(RELEASE_EVERY_S)
        return done.total() / RELEASE_EVERY_S


def at_a_rate(
    port: int, seen: Seen, questions: Iterator[Question], per_s: float
) -> Callable[[threading.Event], None]:
    """Ask whenever a question is due, whether the one before took long or not."""

    def ask(until: threading.Event) -> None:
        visitor, begun = Visitor(port, seen), time.perf_counter()
        for number in count():
            due = begun + number / per_s
            if until.wait(max(0.0, due - time.perf_counter())):
                return
            visitor.ask(next(questions), due)

    return ask


def roll_back(service: Service, key: str) -> int:
    """Serve the other release, and give the status."""
    return service.ask("POST", "/v1/rollbacks", {"why": "soak"}, {"Authorization": f"Bearer {key}"})[0]


def releasing(service: Service, key: str, seen: Seen) -> Callable[[threading.Event], None]:
    """Serve the other release now and then."""

    def work(until: threading.Event) -> None:
        while not until.wait(RELEASE_EVERY_S):
            question = Question("release", "POST", "/v1/rollbacks")
            begun = time.perf_counter()
            try:
                status = roll_back(service, key)
            except (OSError, http.client.HTTPException) as error:
                seen.failed(question, error)
                continue
            with seen.lock:
                seen.took_ms.setdefault("release", []).append(1000 * (time.perf_counter() - begun))
                if status != http.client.OK:
                    seen.errors[f"release {status}"] += 1

    return work


def memory_mb(pid: int) -> float:
    """Give the memory that a process holds."""
    return int(Path(f"/proc/{pid}/statm").read_text().split()[1]) * resource.getpagesize() / 1e6


def soak(service: Service, key: str, asked: dict[str, list[Question]], minutes: float) -> dict[str, Any]:
    """Ask for some minutes."""
    most = capacity(service.port, asked, lambda: roll_back(service, key))
    seen, rate = Seen(), most / 2
    works = [
        at_a_rate(service.port, seen, drawn(asked, number), rate / VISITORS) for number in range(VISITORS)
    ]
    works += [at_a_rate(service.port, seen, cycle(asked["plan"]), 1 / PLAN_EVERY_S)]
    works += [releasing(service, key, seen)]
    held: list[tuple[float, float]] = []
    begun = time.monotonic()
    with running(works):
        while (now := time.monotonic() - begun) < 60 * minutes:
            held.append((now / (60 * minutes), memory_mb(service.process.pid)))
            time.sleep(1)
    return told(seen, most, minutes, held)


def told(seen: Seen, most: float, minutes: float, held: list[tuple[float, float]]) -> dict[str, Any]:
    """Put figures together."""
    warm = median(mb for at, mb in held if WARM <= at < WARM + 0.2)
    end = median(mb for at, mb in held if at >= 0.8)
    return {
        "minutes": minutes,
        "capacity_per_s": round(most),
        "asked": sum(map(len, seen.took_ms.values())),
        "errors": dict(seen.errors),
        "wrong": seen.wrong,
        "ms": {kind: _times(took) for kind, took in sorted(seen.took_ms.items())},
        "memory_mb": {
            "warm": round(warm, 1),
            "end": round(end, 1),
            "most": round(max(x for _, x in held), 1),
        },
        "grown": round(end / warm - 1, 4),
        "is_flat": end <= FLAT * warm,
    }


def _times(took: list[float]) -> dict[str, float]:
    cuts = quantiles(took, n=100) if len(took) > 1 else took * 99
    return {"asked": len(took), "p50": round(cuts[49], 1), "p99": round(cuts[98], 1)}


def released(address: str, directory: Path) -> tuple[list[str], str]:
    """Serve a catalog, and then the same with another price.

    Returns: The two releases, and a key.
    """
    database = Database(address)
    migrate(database)
    files = read_directory(directory)
    name = next(name for name in files if name.startswith("prices/"))
    dearer = {**files, name: re.sub(rb"(?m)^(  [a-z0-9-]+: )(\d+)$", rb"\g<1>1\2", files[name], count=1)}
    names = [serve(database, write_archive(x)) for x in (files, dearer)]
    key = KeyStore(database).add("soak", "catalog", datetime.now(UTC))[1]
    database.close()
    return names, key


def main() -> None:
    """Read the arguments, and print what was seen."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--minutes", type=float, default=10)
    asked = arguments.parse_args()
    with tempfile.TemporaryDirectory(prefix="loomway-soak-") as folder:
        directory = Path(folder) / "catalog"
        write_catalog(directory, draw_catalog(SIZE))
        address = f"sqlite:///{folder}/loomway.db"
        names, key = released(address, directory)
        log = f"{folder}/decisions.jsonl"
        with serving(address, 1.0, decision_log=log, requests_per_minute=str(MANY)) as service:
            served = service.ask("GET", "/v1/catalog")[2]["release"]["name"]
            pinned = [served, served.replace(names[1], names[0])]
            found = soak(service, key, questions(load_catalog(directory), pinned), asked.minutes)
    print(json.dumps(found))
    sys.exit(int(bool(found["errors"]) or bool(found["wrong"]) or not found["is_flat"]))


if __name__ == "__main__":
    main()
