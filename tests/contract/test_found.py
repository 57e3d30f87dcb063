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
EIDER: dict[str, Any] = {
    "id": "eider",
    "name": "Eider pair",
    "kind": "speaker",
    "slot": "speaker",
    "spec": {"depth_mm": 40},
    "connectors": {
        "terminals": {"map": "blades", "gender": "socket", "mirrored": True, "paired": True, "needed": True}
    },
    "speaker": {"impedance_ohm": 4, "rms_w": 40},
    "source": {"kind": "measured", "ref": "at the shop", "date": "2026-04-30"},
}
THERE = {
    "fitted": [{"part": "eider", "place": "fairing_pods", "paid_minor": 9900}],
    "removed": [GOING],
    "own_parts": [EIDER],
}


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
        ({"removed": [{"part": PART, "place": "rear_pods"}]}, "malformed-question"),
        ({"presets": [PART]}, "malformed-question"),
        ({"fitted": [{"part": PART, "place": "rear_pods"}] * 2}, "malformed-question"),
        ({"own_parts": [{**EIDER, "id": PART}]}, "malformed-question"),
        ({"own_parts": [{**EIDER, "slot": "speeker"}]}, "malformed-question"),
        ({"own_parts": [{**EIDER, "kind": "bundle"}]}, "malformed-request"),
        ({"own_parts": [EIDER] * 21}, "malformed-request"),
    ],
)
@pytest.mark.parametrize(
    ("path", "question"),
    [
        ("/v1/cart-checks", {"bike": BIKE, "parts": [{"part": PART}]}),
        ("/v1/paths", {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}),
        ("/v1/carry-overs", {"bike": BIKE, "next_bike": "bittern-2021-plain"}),
        (
            "/v1/next-bikes",
            {"bike": BIKE, "next_bike": "bittern-2021-plain", "visits": [{"on": "2026-05-01"}]},
        ),
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


@pytest.mark.parametrize(
    ("own", "field", "cure"),
    [
        ({**EIDER, "id": PART}, "id", "duplicate-id"),
        ({**EIDER, "tags": ["secret"]}, "tags/0", "unknown-tag"),
        ({**EIDER, "spec": {"secret": 1}}, "spec", "missing-unit"),
        (
            {**EIDER, "connectors": {**EIDER["connectors"], "secret": {"map": "none", "gender": "plug"}}},
            "connectors/map",
            "unknown-contact-map",
        ),
    ],
)
def test_a_fault_of_an_own_part_is_told_at_its_place_without_the_words_that_were_sent(
    client: TestClient, own: dict[str, Any], field: str, cure: str
) -> None:
    visit, want = {"on": "2026-05-01"}, {"any_of": [PART]}
    question = {"bike": BIKE, "visits": [visit], "wants": [want], "found": {"own_parts": [own]}}
    answer = client.post("/v1/paths", json=question)
    problem = answer.json()
    assert (problem["code"], problem["field"]) == (
        "malformed-question",
        f"/body/found/own_parts/0/{field}",
    )
    assert cure in problem["cure"]
    assert "secret" not in answer.text


def test_a_contradiction_in_one_of_many_questions_is_told_where_that_question_stands(
    client: TestClient,
) -> None:
    good = {"bike": BIKE, "part": PART}
    bad = {**good, "found": {"removed": [{"part": PART, "place": "rear_pods"}]}}
    results = client.post("/v1/fitment-checks", json={"questions": [good, bad]}).json()["results"]
    assert results[0]["status"] == 200
    assert results[1]["problem"]["field"] == "/body/questions/1/found/removed/0"


def test_answers_call_own_parts_by_their_names(client: TestClient) -> None:
    fit = {"bike": BIKE, "part": "eider", "found": THERE}
    answer = client.post("/v1/fitment-checks", json={"questions": [fit]}).json()["results"][0]["answer"]
    assert (answer["name"], answer["verdict"], answer["place"]) == ("Eider pair", "fits", "fairing_pods")
    cart = client.post(
        "/v1/cart-checks",
        json={"bike": BIKE, "parts": [{"part": PART, "place": "fairing_pods"}], "found": THERE},
    ).json()
    assert [x["name"] for x in cart["displaced"]] == ["Eider pair"]
    carried = client.post(
        "/v1/carry-overs", json={"bike": BIKE, "next_bike": "bittern-2021-plain", "found": THERE}
    ).json()["parts"]
    assert [(x["name"], x["paid_minor"], x["resale_minor"]) for x in carried] == [("Eider pair", 9900, 0)]


def test_the_ledger_of_a_plan_tells_what_stays_and_what_is_sold_on(client: TestClient) -> None:
    question = {
        "bike": BIKE,
        "visits": [{"on": "2026-05-01"}],
        "wants": [{"any_of": [PART], "place": "fairing_pods"}],
        "found": THERE,
    }
    plan = client.post("/v1/paths", json=question).json()["plan"]
    told = {(x["name"], x["paid_minor"], x["visit"], x["stays"], x["sold_at_visit"]) for x in plan["ledger"]}
    bought = [x["total_minor"] for x in plan["visits"][0]["lines"] if x["kind"] in ("part", "bundle")]
    assert ("Eider pair", 9900, None, False, 1) in told
    assert {name for name, *_ in told} == {"Eider pair", "Curlew slim, 4 ohm", "Curlew grilles"}
    assert sum(x["paid_minor"] for x in plan["ledger"] if x["visit"] == 1) == sum(bought)


def test_a_figure_of_an_own_part_that_nobody_knows_is_named(client: TestClient) -> None:
    unknown = {"unknown": "measure it with the plug off"}
    own = {**EIDER, "spec": {"depth_mm": unknown}}
    fit = {"bike": BIKE, "part": "curlew-grille", "place": "fairing_pods"}
    found = {**THERE, "own_parts": [own]}
    asked = {"questions": [{**fit, "found": found}]}
    answer = client.post("/v1/fitment-checks", json=asked).json()["results"][0]["answer"]
    assert answer["verdict"] == "not_verified"
    assert {(x["of"], x["measure"]) for x in answer["missing"]} == {("eider", unknown["unknown"])}


def test_what_may_go_is_handed_on() -> None:
    visit, want = {"on": "2026-05-01"}, {"any_of": [PART]}
    asked = PathAsked.model_validate({"bike": BIKE, "visits": [visit], "wants": [want], "may_go": [GOING]})
    assert asked.to_domain().may_go == {Placement("bench-pod", "fairing_pods")}


def test_a_budget_in_a_question_about_the_next_bike_is_told(client: TestClient) -> None:
    visits = [{"on": "2026-05-01", "budget_minor": 1}]
    question = {"bike": BIKE, "next_bike": "bittern-2021-plain", "visits": visits}
    problem = client.post("/v1/next-bikes", json=question).json()
    assert (problem["code"], problem["field"]) == ("malformed-request", "/body/visits/0/budget_minor")
