"""How many fit checks, carts and batches one worker answers, over constants of the same server in the same run.

    python -m tests.benchmarks.http --rounds 5 --seconds 2

The load comes from wrk (Debian: `apt-get install wrk`) on this machine. Rounds are interleaved, and each ratio is the median of
its rounds. Pairs and carts are asked once before the rounds: what the first asking takes is printed too, as `first_ms`. They
leave out amplifiers, harnesses and power kits, which a search has to judge; the benchmark of fitment tells what those take.

Carts are drawn without a thought, so nearly all are refused: `cart`. Whole carts are drawn among parts that fit by themselves,
and those of them are kept that fit together, alone or with more: `whole_cart`.
"""

from __future__ import annotations

import argparse
import http.client
import json
import shutil
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random
from statistics import median
from typing import Any, NamedTuple

from rules.catalog.catalog import Catalog
from rules.load import load_catalog
from tests.benchmarks.catalogs import Size, draw_catalog, write_catalog

SIZE = Size(families=3, parts=500, rules=200)
ASKED, CART, BATCH = 10_000, 20, 1_000
WHOLE = 5
"""Of so many pairs there is one cart that is drawn to be whole; most are."""

STEADY = 3
"""Loads whose median is taken as usual."""

SEARCHED = ("amplifier", "harness", "power_kit")
YES = ("fits", "fits_with")
ON = "2026-05-04"
SCRIPT = """
local asked, at = {}, 0
for line in io.lines("%s") do asked[#asked + 1] = line end
request = function()
  at = at %% #asked + 1
  %s
end
done = function(summary, latency, requests)
  io.write(string.format('JSON{"requests": %%d, "us": %%d, "errors": %%d, "p50": %%d, "p99": %%d}\\n', summary.requests,
    summary.duration, summary.errors.status + summary.errors.timeout + summary.errors.read + summary.errors.connect,
    latency:percentile(50), latency:percentile(99)))
end
"""
GET = 'return wrk.format("GET", asked[at])'
POST = 'return wrk.format("POST", "{path}", {{["Content-Type"] = "application/json"}}, asked[at])'


class Load(NamedTuple):
    """What wrk saw: requests per second, errors, and latencies [us]."""

    per_s: float
    errors: int
    p50_us: int
    p99_us: int


class Target(NamedTuple):
    """What is asked: a name, a file of addresses or bodies by line, and the address if they are bodies."""

    name: str
    lines: Path
    path: str | None = None


def pairs_of(catalog: Catalog, random: Random, count: int = ASKED) -> list[str]:
    """Draw distinct addresses of fit checks."""
    parts = [x.id for x in catalog.parts.values() if x.slot and not x.stock_only and x.kind not in SEARCHED]
    every = [(bike, part) for bike in catalog.bikes for part in parts]
    return [f"/v1/fitment/{bike}/{part}" for bike, part in random.sample(every, count)]


def carts_of(catalog: Catalog, random: Random, count: int = ASKED) -> list[str]:
    """Draw distinct carts, each part at a place that its slot is at."""
    parts = [x for x in catalog.parts.values() if x.slot and not x.stock_only and x.kind not in SEARCHED]
    bikes = sorted(catalog.bikes)
    return [_cart(random.choice(bikes), random.sample(parts, CART), catalog, random) for _ in range(count)]


def _cart(bike: str, parts: list[Any], catalog: Catalog, random: Random) -> str:
    places = [sorted(x.id for x in catalog.places.values() if part.slot in x.slots) for part in parts]
    lines = [{"part": part.id, "place": random.choice(at)} for part, at in zip(parts, places, strict=True)]
    return json.dumps({"bike": bike, "parts": lines, "on": ON})


def whole_carts_of(answers: list[bytes], catalog: Catalog, random: Random) -> list[str]:
    """Draw distinct carts of parts that fit their bike, each slot with no more than it takes."""
    fitting: dict[str, list[tuple[str, str]]] = {}
    for told in (json.loads(answer)["answer"] for answer in answers):
        for at in told["places"] or [told]:
            if at["verdict"] in YES:
                fitting.setdefault(told["bike"], []).append((told["part"], at["place"]))
    carts: set[str] = set()
    while len(carts) < len(answers) // WHOLE:
        bike = random.choice(sorted(fitting))
        carts.add(_whole_cart(bike, random.sample(fitting[bike], len(fitting[bike])), catalog, random))
    return sorted(carts)


def _whole_cart(bike: str, choice: list[tuple[str, str]], catalog: Catalog, random: Random) -> str:
    free = {x.id: dict(x.slots) for x in catalog.places.values()}
    most, lines = random.randint(1, CART), list[dict[str, str]]()
    for part, place in choice[: 4 * most]:
        slot = catalog.parts[part].slot
        if slot is not None and free[place][slot] and len(lines) < most:
            free[place][slot] -= 1
            lines.append({"part": part, "place": place})
    return json.dumps({"bike": bike, "parts": lines, "on": ON})


def batches_of(pairs: list[str], many: int = BATCH) -> list[str]:
    """Put many questions into each body."""
    asked = [dict(zip(("bike", "part"), x.split("/")[3:], strict=True)) for x in pairs]
    return [json.dumps({"questions": asked[at : at + many]}) for at in range(0, len(asked), many)]


@contextmanager
def served(directory: Path) -> Iterator[int]:
    """Run a server of its own process, and give its port."""
    command = [sys.executable, "-m", "tests.benchmarks.http_server", str(directory)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as server:
        assert server.stdout is not None
        try:
            yield int(server.stdout.readline())
        finally:
            server.terminate()


class First(NamedTuple):
    """The time that each question took when it was asked first [ms], and the answers."""

    took_ms: list[float]
    answers: list[bytes]

    def told(self) -> dict[str, float]:
        """Sum up."""
        ordered = sorted(self.took_ms)
        return {
            "median": round(median(ordered), 2),
            "p99": round(ordered[len(ordered) * 99 // 100], 1),
            "all_s": round(sum(ordered) / 1000, 1),
        }


def ask_once(port: int, lines: list[str], path: str | None = None) -> First:
    """Ask each address in turn; or each body, at an address."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    took, answers = [], []
    for line in lines:
        begun = time.perf_counter()
        if path is None:
            connection.request("GET", line)
        else:
            connection.request("POST", path, line, {"Content-Type": "application/json"})
        response = connection.getresponse()
        answers.append(response.read())
        assert response.status == 200, (line, response.status)
        took.append(1000 * (time.perf_counter() - begun))
    connection.close()
    return First(took, answers)


def load(port: int, target: Target, seconds: int, connections: int) -> Load:
    """Let wrk ask for some seconds."""
    how = GET if target.path is None else POST.format(path=target.path)
    script = target.lines.with_suffix(".lua")
    script.write_text(SCRIPT % (target.lines, how))
    command = ["wrk", "-t1", f"-c{connections}", f"-d{seconds}s", "--timeout", "30s", "-s", str(script)]
    command.append(f"http://127.0.0.1:{port}")
    said = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    seen = json.loads(said[said.index("JSON") + 4 :].splitlines()[0])
    return Load(seen["requests"] / seen["us"] * 1e6, seen["errors"], seen["p50"], seen["p99"])


def json_per_s(body: str, answer: bytes) -> float:
    """Decode a batch and encode its answers, and tell how often a second that can be done."""
    told = json.loads(answer)
    begun, count = time.perf_counter(), 0
    while time.perf_counter() - begun < 1:
        json.loads(body)
        json.dumps(told).encode()
        count += 1
    return count / (time.perf_counter() - begun)


def post(port: int, path: str, body: str) -> bytes:
    """Ask once with a body."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    connection.request("POST", path, body, {"Content-Type": "application/json"})
    answer = connection.getresponse().read()
    connection.close()
    return answer


CART_PATH, BATCH_PATH = "/v1/cart-checks", "/v1/fitment-checks"


def measure(directory: Path, count: int, rounds: int, seconds: int, connections: int) -> dict[str, Any]:
    """Serve a drawn catalog and load it."""
    random = Random(1)
    catalog = load_catalog(directory)
    pairs, carts = pairs_of(catalog, random, count), carts_of(catalog, random, count)
    batches = batches_of(pairs)
    work = directory.parent
    with served(directory) as port:
        first = {"fit": ask_once(port, pairs), "cart": ask_once(port, carts, CART_PATH)}
        drawn = whole_carts_of(first["fit"].answers, catalog, random)
        first["drawn_whole"] = ask_once(port, drawn, CART_PATH)
        whole = [x for x, told in zip(drawn, first["drawn_whole"].answers, strict=True) if _is_whole(told)]
        asked = {
            "fit": (pairs, None),
            "raw": (["/raw-constant"], None),
            "framework": (["/framework-constant"], None),
            "cart": (carts, CART_PATH),
            "whole_cart": (whole, CART_PATH),
            "batch": (batches, BATCH_PATH),
        }
        targets = [Target(name, _lines(work, name, lines), path) for name, (lines, path) in asked.items()]
        seen: dict[str, list[Load]] = {target.name: [] for target in targets}
        plain_json: list[float] = []
        batch_answer = post(port, BATCH_PATH, batches[0])
        for _ in range(rounds):
            for target in targets:
                many = connections if target.name != "batch" else 2
                seen[target.name].append(load(port, target, seconds, many))
            plain_json.append(json_per_s(batches[0], batch_answer))
        steady, during = with_activation(port, targets[0], seconds, connections)
    return report(seen, plain_json, first, (steady, during))


def _is_whole(told: bytes) -> bool:
    return json.loads(told)["verdict"] in YES


def verdicts_of(answers: list[bytes]) -> dict[str, int]:
    """Count answers to carts by their verdict."""
    return dict(sorted(Counter(json.loads(x)["verdict"] for x in answers).items()))


def with_activation(
    port: int, target: Target, seconds: int, connections: int
) -> tuple[list[Load], list[Load]]:
    """Load for some seconds, several times; and again from the activation of another release until it has been served that long."""
    steady = [load(port, target, 3 * seconds, connections) for _ in range(STEADY)]
    before = served_now(port)
    post(port, "/activate", "")
    during: list[Load] = []
    is_served = False
    while not is_served:
        is_served = served_now(port) != before
        during.append(load(port, target, 3 * seconds, connections))
    return steady, during


def served_now(port: int) -> str:
    """Name what is served."""
    connection = http.client.HTTPConnection("127.0.0.1", port, timeout=300)
    connection.request("GET", "/health/live")
    name = connection.getresponse().headers["loomway-release"]
    connection.close()
    return name


def report(
    seen: dict[str, list[Load]],
    plain_json: list[float],
    first: dict[str, First],
    activation: tuple[list[Load], list[Load]],
) -> dict[str, Any]:
    """Put ratios and absolute figures together."""

    def over(name: str, other: str) -> float:
        return round(median(x.per_s / y.per_s for x, y in zip(seen[name], seen[other], strict=True)), 3)

    per_s = {name: round(median(x.per_s for x in loads)) for name, loads in seen.items()}
    steady = median(x.p99_us for x in activation[0])
    return {
        "get_fit_over_raw_asgi": over("fit", "raw"),
        "get_fit_over_framework_constant": over("fit", "framework"),
        "post_cart_over_raw_asgi": over("cart", "raw"),
        "post_whole_cart_over_raw_asgi": over("whole_cart", "raw"),
        "batch_over_json": round(
            median(x.per_s / y for x, y in zip(seen["batch"], plain_json, strict=True)), 3
        ),
        "p99_over_p50": round(median(x.p99_us / max(x.p50_us, 1) for x in seen["fit"]), 2),
        "with_activation_p99_over_steady": round(max(x.p99_us for x in activation[1]) / max(steady, 1), 2),
        "absolute": {
            "per_s": {**per_s, "json": round(median(plain_json))},
            "fit_p50_us": median(x.p50_us for x in seen["fit"]),
            "fit_p99_us": median(x.p99_us for x in seen["fit"]),
            "activation_p99_us": [x.p99_us for x in activation[1]],
            "errors": {name: sum(x.errors for x in loads) for name, loads in seen.items()},
            "first_ms": {name: asked.told() for name, asked in first.items()},
            "answer_bytes": {name: round(median(map(len, asked.answers))) for name, asked in first.items()},
            "pairs": len(first["fit"].answers),
            "carts": verdicts_of(first["cart"].answers),
            "drawn_whole": verdicts_of(first["drawn_whole"].answers),
        },
    }


def _lines(work: Path, name: str, lines: list[str]) -> Path:
    path = work / f"{name}.txt"
    path.write_text("\n".join(lines) + "\n")
    return path


def main() -> None:
    """Measure, and print JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--asked", type=int, default=ASKED, help="pairs, and carts")
    parser.add_argument("--rounds", type=int, default=5)
    parser.add_argument("--seconds", type=int, default=2)
    parser.add_argument("--connections", type=int, default=16)
    asked = parser.parse_args()
    if shutil.which("wrk") is None:
        sys.exit("wrk is needed; on Debian: apt-get install wrk")
    with tempfile.TemporaryDirectory() as folder:
        directory = Path(folder) / "catalog"
        write_catalog(directory, draw_catalog(SIZE))
        print(
            json.dumps(
                measure(directory, asked.asked, asked.rounds, asked.seconds, asked.connections), indent=2
            )
        )


if __name__ == "__main__":
    main()
