"""What is known of a rider's bike is checked like the rest of a question: an odd id is told."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from fastapi.testclient import TestClient

from rules.build import Placement
from rules.engine import Engine
from service.shapes.paths import PathAsked
from tests.contract.small import small_app

BIKE = "bittern-2019-plain"
PART = "curlew-slim"
LOST = {"part": PART, "place": "rear_pod"}
GOING = {"part": "bench-pod", "place": "fairing_pods"}


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(small_app(Engine), raise_server_exceptions=False) as client:
        yield client


@pytest.mark.parametrize(
    ("found", "code"),
    [
        ({"fitted": [{"part": "curlew-slm", "place": "rear_pods"}]}, "unknown-part"),
        ({"fitted": [{"part": PART, "place": "rear_pod"}]}, "unknown-place"),
        ({"removed": [{"part": "bench-pd", "place": "fairing_pods"}]}, "unknown-part"),
        ({"presets": ["curlew-slm"]}, "unknown-part"),
        ({"unknown_work": ["rear_pod"]}, "unknown-place"),
        ({"fitted": [{"part": PART, "place": "dash"}]}, "malformed-question"),
        ({"measured": [{"path": "places.rear_pods.geometry.dept_mm", "value": 60}]}, "malformed-question"),
        (
            {"measured": [{"path": "places.rear_pods.geometry.depth_mm", "value": "deep"}]},
            "malformed-question",
        ),
        ({"measured": [{"path": "places.rear_pod.geometry.depth_mm", "value": 60}]}, "malformed-question"),
        ({"measured": [{"path": "", "value": 60}]}, "malformed-request"),
        ({"measured": [{"path": ".", "value": 60}]}, "malformed-question"),
        ({"measured": [{"path": "loom.links", "value": ["a"]}]}, "malformed-question"),
    ],
)
@pytest.mark.parametrize(
    ("path", "question"),
    [
        ("/v1/cart-checks", {"bike": BIKE, "parts": [{"part": PART}]}),
        ("/v1/paths", {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}),
        ("/v1/carry-overs", {"bike": BIKE, "next_bike": "bittern-2021-plain"}),
    ],
)
def test_an_odd_word_about_the_bike_as_found_is_told(
    client: TestClient, path: str, question: dict[str, Any], found: dict[str, Any], code: str
) -> None:
    problem = client.post(path, json={**question, "found": found}).json()
    assert problem["code"] == code
    assert problem["field"].startswith("/body/found/")


@pytest.mark.parametrize(
    ("key", "entry", "field", "code"),
    [
        ("excluded", "curlew-slm", "", "unknown-part"),
        ("allowed_rewiring", "curlew-slm", "", "unknown-part"),
        ("locked", {"part": "curlew-slm", "place": "rear_pods"}, "/part", "unknown-part"),
        ("may_go", {"part": "curlew-slm", "place": "rear_pods"}, "/part", "unknown-part"),
        ("locked", LOST, "/place", "unknown-place"),
        ("may_go", LOST, "/place", "unknown-place"),
    ],
)
def test_an_unknown_word_in_a_path_question_is_told(
    client: TestClient, key: str, entry: object, field: str, code: str
) -> None:
    question = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}], key: [entry]}
    problem = client.post("/v1/paths", json=question).json()
    assert (problem["code"], problem["field"]) == (code, f"/body/{key}/0{field}")


def test_visits_out_of_order_are_told_with_a_cure(client: TestClient) -> None:
    visits = [{"on": "2027-05-01"}, {"on": "2026-05-01"}]
    problem = client.post(
        "/v1/paths", json={"bike": BIKE, "visits": visits, "wants": [{"any_of": [PART]}]}
    ).json()
    assert (problem["code"], problem["field"]) == ("malformed-question", "/body/visits")


def test_a_want_for_a_visit_that_does_not_exist_is_told(client: TestClient) -> None:
    wants = [{"any_of": [PART], "by_visit": 2}]
    question = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": wants}
    problem = client.post("/v1/paths", json=question).json()
    assert (problem["code"], problem["field"]) == ("malformed-question", "/body/wants/0/by_visit")


def test_two_budgets_for_one_year_are_told(client: TestClient) -> None:
    budgets = [{"year": 2026, "budget_minor": 1}, {"year": 2026, "budget_minor": 2}]
    question = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}
    problem = client.post("/v1/paths", json={**question, "year_budgets": budgets}).json()
    assert (problem["code"], problem["field"]) == ("malformed-question", "/body/year_budgets/1")


def test_what_may_go_is_handed_on() -> None:
    visit, want = {"on": "2026-05-01"}, {"any_of": [PART]}
    asked = PathAsked.model_validate({"bike": BIKE, "visits": [visit], "wants": [want], "may_go": [GOING]})
    assert asked.to_domain().may_go == {Placement("bench-pod", "fairing_pods")}
