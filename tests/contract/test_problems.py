"""Every error has one shape, a stable code and the field at fault, and repeats nothing that was sent."""

from __future__ import annotations

import json
from functools import cache
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from rules.answer import FitAnswer, Plan
from rules.errors import PlanRefused
from rules.question import FitQuestion, PathQuestion
from rules.release import ENGINE_REVISION
from service.problems import KINDS
from service.settings import Settings
from tests.contract.canned import CannedEngine
from tests.contract.keeping import query_of
from tests.contract.small import key_for, small_app

BIKE = "bittern-2019-plain"
PART = "curlew-slim"
RELEASE = f"r-small.{ENGINE_REVISION}"
LATER = f"r-small.{ENGINE_REVISION + 1}"
PATH = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}
JSON = {"content-type": "application/json"}
KEYS = {"type", "title", "status", "code", "detail", "field", "nearest", "cure", "faults", "release"}
MARK = "zzmarkzz"


def assert_problem(response: Response, status: int, code: str, field: str | None) -> dict[str, Any]:
    body: dict[str, Any] = response.json()
    assert (response.status_code, body["code"], body["field"]) == (status, code, field), body
    assert body["status"] == status
    assert set(body) == KEYS
    assert response.headers["content-type"] == "application/problem+json"
    assert response.headers["loomway-release"] == body["release"] == RELEASE
    assert body["type"].endswith(f"/{code}")
    assert all(body[key] for key in ("title", "detail", "cure"))
    assert MARK not in response.text
    return body


def measured(value: object) -> dict[str, Any]:
    return {"found": {"measured": [{"path": "facts.width_mm", "value": value}]}}


UPLOAD = "/v1/releases"
ARCHIVE = {"content-type": "application/zip"}


@cache
def routes() -> list[tuple[str, str]]:
    filling = {"bike": BIKE, "part": PART, "release": RELEASE, "on": "2026-05-01"}
    filling |= {"plan": "0" * 32, "rider": "0" * 32, "secret": "none", "number": "1"}
    paths = small_app().openapi()["paths"]
    return [(method.upper(), path.format(**filling)) for path, methods in paths.items() for method in methods]


@pytest.mark.parametrize(("method", "path"), routes())
def test_every_route_refuses_another_method_and_says_which_it_takes(
    client: TestClient, method: str, path: str
) -> None:
    response = client.request("PUT", path, json={MARK: MARK})
    assert_problem(response, 405, "wrong-method", None)
    taken = {found for found, other in routes() if other == path}
    assert response.headers["allow"] == ", ".join(sorted(taken | ({"HEAD"} if "GET" in taken else set())))


@pytest.mark.parametrize(
    ("address", "field", "fault"),
    [
        ("gain?power=100", "/query/impedance", "missing-field"),
        ("gain?power=0&impedance=4", "/query/power", "too-small"),
        (f"gain?power={MARK}&impedance=4", "/query/power", "wrong-type"),
        ("gain?power=nan&impedance=4", "/query/power", "not-finite"),
        ("gain?powr=100&impedance=4", "/query/power", "missing-field"),
        (f"efficiency?amplifier_class={MARK}", "/query/amplifier_class", "not-a-choice"),
    ],
)
def test_a_faulty_figure_of_a_calculation_is_named(
    client: TestClient, address: str, field: str, fault: str
) -> None:
    problem = assert_problem(client.get(f"/v1/calculations/{address}"), 422, "malformed-request", field)
    assert fault in [found["code"] for found in problem["faults"] if found["field"] == field]


def test_figures_that_contradict_each_other_are_refused_with_a_cure(client: TestClient) -> None:
    address = "/v1/calculations/gain?power=100&impedance=4&speaker_powers=60&speaker_impedances=8"
    problem = assert_problem(client.get(address), 422, "malformed-question", "/query/impedance")
    assert "parallel" in problem["cure"]


def test_a_calculation_that_nobody_offers_is_no_address(client: TestClient) -> None:
    assert_problem(client.get(f"/v1/calculations/{MARK}"), 404, "no-such-address", None)


@pytest.mark.parametrize(("method", "path"), routes())
def test_every_route_fails_in_the_same_shape(method: str, path: str) -> None:
    app = unreadable_app()
    with TestClient(app, raise_server_exceptions=False, headers=key_for(path)) as client:
        operation = app.openapi()["paths"].get(path, {}).get(method.lower(), {})
        example = (
            operation.get("requestBody", {}).get("content", {}).get("application/json", {}).get("example")
        )
        body = {"content": b"", "headers": ARCHIVE} if path == UPLOAD else {"json": example}
        response = client.request(method, path, params=query_of(operation), **body)
    assert_problem(response, 500, "internal-fault", None)


@cache
def unreadable_app() -> FastAPI:
    app = small_app()
    app.state.serving = app.state.office = _Unreadable()
    return app


class _Unreadable:
    """A release, or a database, that fails whatever is asked of it but its name."""

    name = RELEASE

    def __getattr__(self, _: str) -> Any:
        raise RuntimeError(MARK)


@pytest.mark.parametrize("path", [path for method, path in routes() if method == "POST" and path != UPLOAD])
@pytest.mark.parametrize(
    ("body", "status", "code", "field"),
    [
        pytest.param(b"", 422, "malformed-request", "/body", id="empty body"),
        pytest.param(b'{"bike":', 400, "malformed-json", "/body", id="cut off"),
        pytest.param(b'{"bike": "\xff\xfe"}', 400, "malformed-json", "/body", id="not UTF-8"),
        pytest.param(b"[" * 100_000, 400, "malformed-json", "/body", id="nested too deeply"),
        pytest.param(b'{"bike": ' + b"9" * 5_000 + b"}", 400, "malformed-json", "/body", id="huge number"),
        pytest.param(b"null", 422, "malformed-request", "/body", id="null"),
        pytest.param(b'["zzmarkzz"]', 422, "malformed-request", "/body", id="a list"),
        pytest.param(b'"zzmarkzz"', 422, "malformed-request", "/body", id="a text"),
        pytest.param(b"NaN", 422, "malformed-request", "/body", id="not a number"),
        pytest.param(b"1e999", 422, "malformed-request", "/body", id="infinite"),
    ],
)
def test_a_body_that_is_no_question_is_refused(
    client: TestClient, path: str, body: bytes, status: int, code: str, field: str
) -> None:
    headers = {**JSON, **key_for(path), "Idempotency-Key": "first", "If-Match": '"1"'}
    assert_problem(client.post(path, content=body, headers=headers), status, code, field)


@pytest.mark.parametrize(
    ("change", "field", "fault"),
    [
        ({"bike": None}, "/body/bike", "wrong-type"),
        ({"bike": True}, "/body/bike", "wrong-type"),
        ({"bike": ""}, "/body/bike", "too-short"),
        ({"bike": MARK * 20}, "/body/bike", "too-long"),
        ({"bike": "\ud800"}, "/body/bike", "not-text"),
        ({"visits": []}, "/body/visits", "too-short"),
        ({"visits": [{"on": "2026-05-01"}] * 7}, "/body/visits", "too-long"),
        ({"visits": [{"on": 20_000}]}, "/body/visits/0/on", "not-a-day"),
        ({"visits": [{"on": "2026-02-30"}]}, "/body/visits/0/on", "not-a-day"),
        ({"visits": [{"on": "2026-05-01T00:00:00"}]}, "/body/visits/0/on", "not-a-day"),
        ({"visits": [{}]}, "/body/visits/0/on", "missing-field"),
        ({"visits": [{"on": "2026-05-01", "fitter": MARK}]}, "/body/visits/0/fitter", "not-a-choice"),
        ({"budget_minor": True}, "/body/budget_minor", "wrong-type"),
        ({"budget_minor": 1.5}, "/body/budget_minor", "wrong-type"),
        ({"budget_minor": -1}, "/body/budget_minor", "too-small"),
        ({"budget_minor": 10**30}, "/body/budget_minor", "too-large"),
        ({"budget_minor": float("nan")}, "/body/budget_minor", "not-finite"),
        ({"budget_minor": float("inf")}, "/body/budget_minor", "not-finite"),
        ({"budget_minor": "100"}, "/body/budget_minor", "wrong-type"),
        ({"resale_counts": 1}, "/body/resale_counts", "wrong-type"),
        ({"resale_counts": "yes"}, "/body/resale_counts", "wrong-type"),
        ({MARK: 1}, "/body", "unknown-field"),
        ({"found": {MARK: 1}}, "/body/found", "unknown-field"),
        (measured(float("nan")), "/body/found/measured/0/value", "not-finite"),
        (measured({MARK: 1}), "/body/found/measured/0/value", "wrong-type"),
        ({"wants": [{"any_of": [[]]}]}, "/body/wants/0/any_of/0", "wrong-type"),
        ({"wants": [{"any_of": [PART], "by_visit": 0}]}, "/body/wants/0/by_visit", "too-small"),
    ],
)  # fmt: skip
def test_a_faulty_field_is_named_with_what_is_wrong(
    client: TestClient, change: dict[str, Any], field: str, fault: str
) -> None:
    body = json.dumps({**PATH, **change}).encode()
    problem = assert_problem(
        client.post("/v1/paths", content=body, headers=JSON), 422, "malformed-request", field
    )
    assert [(found["field"], found["code"]) for found in problem["faults"]] == [(field, fault)]


def test_all_faulty_fields_are_named_at_once(client: TestClient) -> None:
    problem = client.post("/v1/paths", json={"bike": 1, "visits": 2, "wants": 3, "budjet_minor": 4}).json()
    found = [(fault["field"], fault["code"], fault["nearest"]) for fault in problem["faults"]]
    assert found == [
        ("/body/bike", "wrong-type", None),
        ("/body/visits", "wrong-type", None),
        ("/body/wants", "wrong-type", None),
        ("/body", "unknown-field", "budget_minor"),
    ]


@pytest.mark.parametrize(
    ("address", "field", "fault"),
    [
        ("/v1/bikes?limit=0", "/query/limit", "too-small"),
        ("/v1/bikes?limit=1e999", "/query/limit", "wrong-type"),
        ("/v1/bikes?limit=99999999999999999999999", "/query/limit", "too-large"),
        (f"/v1/bikes?model_year={MARK}", "/query/model_year", "wrong-type"),
        ("/v1/bikes?modelyear=2019", "/query", "unknown-field"),
        (f"/v1/bikes/{MARK * 20}", "/path/bike", "too-long"),
        (f"/v1/parts?kind={MARK}", "/query/kind", "not-a-choice"),
        (f"/v1/bikes/{BIKE}/parts?verdict={MARK}", "/query/verdict/0", "not-a-choice"),
        (f"/v1/fitment/{BIKE}/{PART}?on=0", "/query/on", "not-a-day"),
        (f"/v1/fitment/{BIKE}/{PART}?plase=dash", "/query", "unknown-field"),
        (f"/v1/releases/{RELEASE}/fitment/{BIKE}/{PART}/yesterday", "/path/on", "not-a-day"),
    ],
)
def test_a_faulty_address_is_refused(client: TestClient, address: str, field: str, fault: str) -> None:
    problem = assert_problem(client.get(address), 422, "malformed-request", field)
    assert [(found["field"], found["code"]) for found in problem["faults"]] == [(field, fault)]


@pytest.mark.parametrize(
    ("address", "code", "field", "nearest"),
    [
        ("/v1/bikes/bitern-2019-plain", "unknown-bike", "/path/bike", BIKE),
        ("/v1/bikes/bitern-2019-plain/parts", "unknown-bike", "/path/bike", BIKE),
        ("/v1/parts/curlew-slm", "unknown-part", "/path/part", PART),
        ("/v1/parts/curlew-slm/bikes", "unknown-part", "/path/part", PART),
        (f"/v1/fitment/{BIKE}/curlew-slm", "unknown-part", "/path/part", PART),
        (
            f"/v1/releases/{LATER}/fitment/{BIKE}/{PART}/2026-05-01",
            "unknown-release",
            "/path/release",
            RELEASE,
        ),
    ],
)
def test_an_unknown_id_in_an_address_suggests_the_nearest(
    client: TestClient, address: str, code: str, field: str, nearest: str
) -> None:
    assert assert_problem(client.get(address), 404, code, field)["nearest"][0] == nearest


def test_an_unknown_id_in_a_body_is_pointed_at(client: TestClient) -> None:
    body = {**PATH, "wants": [{"any_of": [PART]}, {"any_of": [PART, "curlew-slm"]}]}
    problem = assert_problem(
        client.post("/v1/paths", json=body), 404, "unknown-part", "/body/wants/1/any_of/1"
    )
    assert problem["nearest"][0] == PART


@pytest.mark.parametrize("address", [f"/v1/fitment/{BIKE}/{PART}", f"/v1/bikes/{BIKE}/parts"])
def test_an_unknown_id_in_a_query_is_pointed_at(client: TestClient, address: str) -> None:
    response = client.get(f"{address}?place=rear_pod")
    assert assert_problem(response, 404, "unknown-place", "/query/place")["nearest"][0] == "rear_pods"


@pytest.mark.parametrize("odd", ["%00", "%ff", "..%2f..%2fetc", "a%20b", "%F0%9F%8F%8D", MARK])
def test_an_odd_id_is_an_unknown_id(client: TestClient, odd: str) -> None:
    response = client.get(f"/v1/bikes/{odd}")
    assert response.status_code == 404
    assert response.json()["code"] in ("unknown-bike", "no-such-address")
    assert MARK not in response.text


def test_one_unknown_id_of_many_questions_spoils_only_its_own(client: TestClient) -> None:
    good, bad = {"bike": BIKE, "part": PART}, {"bike": MARK, "part": PART}
    response = client.post("/v1/fitment-checks", json={"questions": [good, bad, good]})
    results = response.json()["results"]
    assert [result["status"] for result in results] == [200, 404, 200]
    assert results[1]["problem"]["field"] == "/body/questions/1/bike"
    assert results[1]["answer"] is None
    assert MARK not in response.text


def test_more_than_a_thousand_questions_are_refused(client: TestClient) -> None:
    response = client.post("/v1/fitment-checks", json={"questions": [{"bike": BIKE, "part": PART}] * 1_001})
    assert_problem(response, 422, "malformed-request", "/body/questions")


def test_a_question_that_contradicts_itself_is_refused_with_a_cure(client: TestClient) -> None:
    response = client.post("/v1/cart-checks", json={"bike": BIKE, "parts": [{"part": PART}, {"part": PART}]})
    problem = assert_problem(response, 422, "malformed-question", "/body/parts/1")
    assert problem["cure"] == "Name each part once for each place."


@pytest.mark.parametrize("kind", ["text/plain", "application/x-www-form-urlencoded", "application/xml", MARK])
def test_a_body_of_another_kind_is_refused(client: TestClient, kind: str) -> None:
    response = client.post("/v1/paths", content=b"bike=1", headers={"content-type": kind})
    assert_problem(response, 415, "not-json", None)


def test_a_long_body_is_refused_before_it_is_read() -> None:
    with TestClient(small_app(settings=Settings(body_limit_bytes=1_000))) as client:
        announced = client.post("/v1/paths", content=b" " * 1_001, headers=JSON)
        streamed = client.post("/v1/paths", content=iter([b" " * 600, b" " * 600]), headers=JSON)
    assert_problem(announced, 413, "body-too-large", "/body")
    assert_problem(streamed, 413, "body-too-large", "/body")


def test_nothing_at_an_address_is_a_problem_too(client: TestClient) -> None:
    for address in ("/", "/v1/bikes/", f"/v1/{MARK}", "/docs", "/redoc"):
        assert_problem(client.get(address), 404, "no-such-address", None)


def test_a_failure_tells_nothing_of_its_cause() -> None:
    class Failing(CannedEngine):
        def fit(self, question: FitQuestion) -> FitAnswer:
            raise RuntimeError(MARK)

    with TestClient(small_app(Failing), raise_server_exceptions=False) as client:
        assert_problem(client.get(f"/v1/fitment/{BIKE}/{PART}"), 500, "internal-fault", None)


def test_a_plan_that_does_not_hold_is_not_given_and_the_log_says_why(
    caplog: pytest.LogCaptureFixture,
) -> None:
    class Slipping(CannedEngine):
        def path(self, question: PathQuestion) -> Plan:
            raise PlanRefused([f"visit 1: 2 slot: {MARK}"])

    with TestClient(small_app(Slipping)) as client:
        assert_problem(client.post("/v1/paths", json=PATH), 500, "plan-refused", None)
    assert MARK in caplog.text


def test_codes_differ() -> None:
    codes = [kind.code for kind in KINDS]
    assert len(set(codes)) == len(codes)
