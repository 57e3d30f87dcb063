"""A cart's answer line by line, with the real engine."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.contract.whole import small_whole_app

BIKE = "bittern-2019-plain"


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(small_whole_app())


def cart(client: TestClient, *parts: dict[str, str]) -> dict[str, Any]:
    answer = client.post("/v1/cart-checks", json={"bike": BIKE, "parts": list(parts)})
    assert answer.status_code == 200
    told: dict[str, Any] = answer.json()
    return told


def test_each_line_says_where_it_goes(client: TestClient) -> None:
    told = cart(client, {"part": "curlew-slim"}, {"part": "curlew-slim", "place": "fairing_pods"})
    lines = [(x["part"], x["asked_for"], [y["place"] for y in x["placed"]], x["again"]) for x in told["cart"]]
    placed = sorted((x["part"], x["place"]) for x in told["placed"])
    assert [x[:2] for x in lines] == [("curlew-slim", None), ("curlew-slim", "fairing_pods")]
    assert sorted((part, place) for part, _, places, _ in lines for place in places) == placed
    assert [again for *_, again in lines] == [False, False]


def test_a_line_that_is_there_before_says_so(client: TestClient) -> None:
    same = {"part": "curlew-slim", "place": "fairing_pods"}
    told = cart(client, same, same)
    assert [x["again"] for x in told["cart"]] == [False, True]
    assert told["verdict"] == "does_not_fit"


def test_a_finding_is_told_at_the_lines_that_it_is_about(client: TestClient) -> None:
    told = cart(client, {"part": "curlew-deep", "place": "fairing_pods"}, {"part": "curlew-grille"})
    about = {finding["rule"]: {x["part"] for x in finding["present"]} for finding in told["findings"]}
    for line in told["cart"]:
        assert set(line["rules"]) == {rule for rule, parts in about.items() if line["part"] in parts}


def test_a_line_tells_colour_and_how_long_it_takes_to_come(client: TestClient) -> None:
    line = cart(client, {"part": "curlew-slim"})["cart"][0]
    part = client.get("/v1/parts/curlew-slim").json()["part"]
    assert (line["name"], line["colour"], line["lead_days"]) == (
        part["name"],
        part["colour"],
        part["lead_days"],
    )
