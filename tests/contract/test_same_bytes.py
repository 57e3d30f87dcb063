"""The same question has the same bytes: again, after other questions, in other order, in another process."""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from fastapi import FastAPI
from fastapi.testclient import TestClient

from tests.contract.whole import demo_app

BIKE = "gadwall-2018-grand"
REAR = {"part": "tern-52", "place": "rear_pods"}
VISITS = [{"on": "2026-05-04", "budget_minor": 60_000}, {"on": "2027-04-05"}]
QUESTIONS: list[tuple[str, Any]] = [
    ("/v1/catalog", None),
    ("/v1/bikes?limit=20", None),
    ("/v1/bikes/gadwall-2018-grand", None),
    ("/v1/bikes/gadwall-2018-grand/parts?kind=speaker&place=rear_pods&limit=5", None),
    ("/v1/parts?kind=amplifier", None),
    ("/v1/parts/fulmar-4", None),
    ("/v1/parts/fulmar-4/bikes?limit=3", None),
    ("/v1/fitment/gadwall-2018-grand/tern-52", None),
    ("/v1/fitment/gadwall-2018-grand/tern-65?place=rear_pods", None),
    ("/v1/fitment/gadwall-2020-grand/tern-65", None),
    ("/v1/fitment/gadwall-2018-grand/no-such-part", None),
    ("/v1/fitment-checks", {"questions": [{"bike": BIKE, **REAR}, {"bike": "x", "part": "y"}]}),
    ("/v1/cart-checks", {"bike": BIKE, "parts": [REAR, {"part": "fulmar-4"}]}),
    ("/v1/paths", {"bike": BIKE, "visits": VISITS, "wants": [{"any_of": ["tern-52"], "place": "rear_pods"}]}),
    ("/v1/paths", {"bike": BIKE, "visits": VISITS[:1], "wants": [{"any_of": ["fulmar-4"]}]}),
    ("/v1/carry-overs", {"bike": BIKE, "next_bike": "gadwall-2023-regent", "found": {"fitted": [REAR]}}),
    (
        "/v1/next-bikes",
        {
            "bike": BIKE,
            "next_bike": "gadwall-2023-regent",
            "visits": VISITS[1:],
            "wants": [{"any_of": ["tern-52"], "place": "rear_pods"}],
            "found": {"fitted": [REAR]},
        },
    ),
]


def digests(app: FastAPI, order: Iterable[int]) -> dict[str, str]:
    """Ask in this order, and give what was answered by question."""
    client = TestClient(app)
    return {str(index): _digest(client, *QUESTIONS[index]) for index in order}


def _digest(client: TestClient, address: str, body: Any) -> str:
    answer = client.get(address) if body is None else client.post(address, json=body)
    told = json.dumps([answer.status_code, answer.headers.get("etag")]).encode()
    return hashlib.sha256(told + answer.content).hexdigest()


def test_the_same_question_has_the_same_bytes() -> None:
    app, order = demo_app(), range(len(QUESTIONS))
    first = digests(app, order)
    assert digests(app, order) == first, "asked again"
    assert _in_another_process() == first, "asked in other order, in another process"


def _in_another_process() -> dict[str, str]:
    # Another hash seed gives sets another order.
    said = subprocess.run(
        [sys.executable, "-m", "tests.contract.test_same_bytes"],
        cwd=Path(__file__).parents[2],
        env={**os.environ, "PYTHONHASHSEED": "7"},
        capture_output=True,
        text=True,
        check=True,
    )
    told: dict[str, str] = json.loads(said.stdout)
    return told


if __name__ == "__main__":
    print(json.dumps(digests(demo_app(), reversed(range(len(QUESTIONS))))))
