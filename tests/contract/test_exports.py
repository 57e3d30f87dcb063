"""Whole exports, a line for each pair: they say of which release they are, and whether they are complete."""

from __future__ import annotations

import json
from typing import Any

import pytest
from fastapi.testclient import TestClient

from rules.answer import FitAnswer
from rules.question import FitQuestion
from tests.contract.canned import CannedEngine
from tests.contract.small import small_app, small_release

BIKE = "bittern-2019-plain"
ALL = {"verdict": ["fits", "fits_with", "not_verified", "does_not_fit"]}


def lines(client: TestClient, address: str, **asked: list[str]) -> list[dict[str, Any]]:
    answer = client.get(address, params=asked)
    assert (answer.status_code, answer.headers["content-type"]) == (200, "application/x-ndjson")
    return [json.loads(line) for line in answer.text.splitlines()]


def test_an_export_has_the_rows_of_the_list_between_its_release_and_their_count(client: TestClient) -> None:
    head, *rows, end = lines(client, f"/v1/bikes/{BIKE}/parts.ndjson")
    page = client.get(f"/v1/bikes/{BIKE}/parts").json()
    assert page["complete"]
    assert rows == page["rows"]
    assert head == {name: page[name] for name in ("release", "on", "currency")}
    assert end == {"complete": True, "rows": len(rows)}


def test_a_part_is_exported_for_every_bike_and_a_line_for_all_its_parts(client: TestClient) -> None:
    catalog = small_release().catalog
    _, *rows, _ = lines(client, "/v1/parts/curlew-slim/bikes.ndjson", **ALL)
    assert [row["bike"] for row in rows] == list(catalog.bikes)
    _, *rows, _ = lines(client, "/v1/lines/curlew/fitment.ndjson", **ALL)
    sold = [x.id for x in catalog.parts.values() if catalog.lines[x.id] == "curlew" and x.slot]
    assert [(row["bike"], row["part"]) for row in rows] == [(b, p) for b in catalog.bikes for p in sold]


@pytest.mark.parametrize(
    ("address", "code"),
    [
        ("/v1/bikes/none/parts.ndjson", "unknown-bike"),
        ("/v1/parts/none/bikes.ndjson", "unknown-part"),
        ("/v1/lines/curlw/fitment.ndjson", "unknown-line"),
    ],
)
def test_what_is_not_known_is_a_problem(client: TestClient, address: str, code: str) -> None:
    problem = client.get(address).json()
    assert (problem["status"], problem["code"]) == (404, code)


def test_an_export_that_fails_on_its_way_does_not_say_that_it_is_complete() -> None:
    class Failing(CannedEngine):
        def fit(self, question: FitQuestion) -> FitAnswer:
            if question.bike != BIKE:
                raise RuntimeError
            return super().fit(question)

    client = TestClient(small_app(Failing), raise_server_exceptions=False)
    told = client.get("/v1/parts/curlew-slim/bikes.ndjson")
    assert '"complete"' not in told.text
