"""Lists are in order, say whether they are complete, and can be read to the end page by page."""

from __future__ import annotations

from typing import Any

import pytest
from fastapi.testclient import TestClient

from rules.answer import FitAnswer
from rules.question import FitQuestion
from tests.contract.canned import CannedEngine
from tests.contract.small import small_app


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(small_app())


@pytest.mark.parametrize(
    ("address", "rows", "key"),
    [
        ("/v1/bikes", "bikes", "id"),
        ("/v1/parts", "parts", "id"),
        ("/v1/bikes/bittern-2019-plain/parts", "rows", "part"),
        ("/v1/parts/curlew-slim/bikes", "rows", "bike"),
    ],
)
@pytest.mark.parametrize("limit", [1, 2, 3, 200])
def test_pages_joined_are_the_whole_list(
    client: TestClient, address: str, rows: str, key: str, limit: int
) -> None:
    whole = client.get(address, params={"limit": 200}).json()
    assert (whole["complete"], whole["next"]) == (True, None)
    seen: list[dict[str, Any]] = []
    page: dict[str, Any] = {"next": None, "complete": False}
    while not page["complete"]:
        after = {"after": page["next"]} if page["next"] else {}
        page = client.get(address, params={"limit": limit, **after}).json()
        assert len(page[rows]) <= limit
        seen += page[rows]
    assert seen == whole[rows]
    assert [row[key] for row in seen] == sorted(row[key] for row in seen)


@pytest.mark.parametrize(
    ("query", "count"),
    [
        ({"maker": "Hollowmere"}, 7),
        ({"maker": "hollowmere"}, 0),
        ({"family": "bittern", "model_year": 2020}, 4),
        ({"model_year": 2020, "trim": "laden"}, 2),
        ({"model_year": 1999}, 0),
    ],
)
def test_bikes_are_found_by_what_is_known_of_them(
    client: TestClient, query: dict[str, Any], count: int
) -> None:
    assert len(client.get("/v1/bikes", params=query).json()["bikes"]) == count


def test_parts_are_found_by_kind_and_line(client: TestClient) -> None:
    answer = client.get("/v1/parts", params={"kind": "speaker", "line": "curlew"}).json()
    assert [part["id"] for part in answer["parts"]] == ["curlew-deep", "curlew-slim"]


def test_only_what_fits_is_listed_unless_other_verdicts_are_named(client: TestClient) -> None:
    address = "/v1/bikes/bittern-2019-plain/parts"
    assert len(client.get(address).json()["rows"]) == 3
    assert client.get(address, params={"verdict": "does_not_fit"}).json()["rows"] == []


def test_at_a_place_the_answer_for_that_place_counts(client: TestClient) -> None:
    there = {"place": "rear_pods", "kind": "speaker"}
    rows = client.get("/v1/bikes/bittern-2019-plain/parts", params=there).json()["rows"]
    assert [(row["part"], row["place"]) for row in rows] == [
        ("curlew-deep", "rear_pods"),
        ("curlew-slim", "rear_pods"),
    ]


def test_no_more_is_worked_out_than_the_page_needs() -> None:
    asked: list[str] = []

    class Counting(CannedEngine):
        def fit(self, question: FitQuestion) -> FitAnswer:
            asked.append(question.part)
            return super().fit(question)

    page = (
        TestClient(small_app(Counting)).get("/v1/bikes/bittern-2019-plain/parts", params={"limit": 1}).json()
    )
    assert (page["complete"], asked) == (False, ["curlew-deep"])


def test_one_request_works_out_so_many_answers_and_says_where_to_go_on(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.shapes.fitment.MOST_WORKED_OUT", 2)
    address, asked = "/v1/bikes/bittern-2019-plain/parts", {"verdict": "does_not_fit"}
    page = client.get(address, params=asked).json()
    assert (page["rows"], page["complete"], page["next"]) == ([], False, "curlew-grille")
    rest = client.get(address, params={**asked, "after": page["next"]}).json()
    assert (rest["rows"], rest["complete"], rest["next"]) == ([], True, None)


def test_an_answer_about_a_stock_bike_is_worked_out_once() -> None:
    asked: list[str] = []

    class Counting(CannedEngine):
        def fit(self, question: FitQuestion) -> FitAnswer:
            asked.append(question.part)
            return super().fit(question)

    client = TestClient(small_app(Counting))
    first, second = (client.get("/v1/fitment/bittern-2019-plain/curlew-slim") for _ in range(2))
    assert (first.content, asked) == (second.content, ["curlew-slim"])


def test_a_name_of_several_bikes_is_answered_with_what_to_ask(client: TestClient) -> None:
    answer = client.get("/v1/bikes/bittern-2020-plain").json()
    assert answer["bike"] is None
    assert answer["ask"] == "When was it built? The plate on the frame says so."
    assert [side["id"] for side in answer["sides"]] == ["bittern-2020-plain-early", "bittern-2020-plain-late"]


def test_a_bike_tells_each_fact_with_its_source_and_how_to_measure_what_is_missing(
    client: TestClient,
) -> None:
    bike = client.get("/v1/bikes/bittern-2020-plain-late").json()["bike"]
    places = {place["id"]: place["facts"] for place in bike["locations"]}
    assert places["fairing_pods"]["depth_mm"] == {
        "value": 48.0,
        "measure": None,
        "source": {"kind": "measured", "ref": "two bikes on our lift", "date": "2025-02-24"},
        "model_years": {"first": 2019, "last": 2021},
    }
    assert places["rear_pods"]["depth_mm"]["value"] is None
    assert places["rear_pods"]["depth_mm"]["measure"].startswith("lay a ruler")
    assert {(stock["place"], stock["slot"], stock["part"]) for stock in bike["stock"]} == {
        ("dash", "head_unit", "bench-radio"),
        ("fairing_pods", "speaker", "bench-pod"),
    }


def test_a_part_tells_its_figures_with_their_source(client: TestClient) -> None:
    part = client.get("/v1/parts/curlew-slim").json()["part"]
    assert {name: fact["value"] for name, fact in part["facts"].items()} == {
        "depth_mm": 41.0,
        "impedance_ohm": 4.0,
        "mass_kg": 0.9,
        "rms_w": 30.0,
    }
    assert part["facts"]["rms_w"]["source"]["ref"] == "Rushholm data sheet C"
    assert part["available"] == {"first": "2026-01-01", "last": "2028-12-31"}


def test_a_channel_without_figures_says_how_to_find_them(client: TestClient) -> None:
    channels = client.get("/v1/parts/bench-radio").json()["part"]["channels"]
    assert channels[0]["rated"] == [{"impedance_ohm": 4.0, "power_w": 20.0}]
    assert (channels[2]["rated"], channels[2]["measure"]) == ([], "ask the maker")


def test_no_answer_names_a_file_of_the_catalog(client: TestClient) -> None:
    for address in (
        "/v1/catalog",
        "/v1/bikes/bittern-2019-plain",
        "/v1/fitment/bittern-2019-plain/curlew-slim",
    ):
        assert ".yaml" not in client.get(address).text
