"""Releasing over REST, with the real engine: what a catalog manager does, and what a storefront sees of it."""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from rules.engine import Engine
from service.app import create_app
from service.middleware import RELEASE_HEADER
from service.releasing.office import Office
from service.settings import Settings
from service.store.errors import StoreFull, StoreLost
from tests.contract.keeping import PLANS
from tests.contract.small import small_app, small_key, small_release
from tests.releasing.shelves import BIKE, BROKEN, FAILING, PART, PLACE, SECOND, WITHOUT_CASES, priced

ZIP = {"Content-Type": "application/zip"}
FIT = f"/v1/fitment/{BIKE}/{PART}?place={PLACE}&on=2026-05-01"


@pytest.fixture
def app() -> FastAPI:
    return small_app(Engine)


@pytest.fixture
def anybody(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, raise_server_exceptions=False) as client:
        yield client


@pytest.fixture
def manager(app: FastAPI, anybody: TestClient) -> TestClient:
    return TestClient(app, raise_server_exceptions=False, headers=small_key())


def upload(manager: TestClient, archive: bytes) -> dict[str, Any]:
    answer = manager.post("/v1/releases", content=archive, headers=ZIP, params={"why": "new prices"})
    assert answer.status_code in (200, 201)
    told: dict[str, Any] = answer.json()
    return told


def activate(manager: TestClient, archive: bytes) -> dict[str, Any]:
    """Upload and activate, with every change of an answer acknowledged."""
    kept = upload(manager, archive)["kept"]["id"]
    impact = manager.get(f"/v1/releases/{kept}/impact").json()["impact"]
    known = [
        {"change": group["change"], "who": "Sunniva", "on": impact["on"], "why": "they are the new prices"}
        for group in impact["changes"]
    ]
    body = {"release": kept, "why": "new prices", "on": impact["on"], "acknowledgements": known}
    told: dict[str, Any] = manager.post("/v1/activations", json=body).json()
    return told


def test_an_upload_is_kept_and_what_is_served_stays(anybody: TestClient, manager: TestClient) -> None:
    before = anybody.get(FIT).json()
    answer = manager.post("/v1/releases", content=SECOND, headers=ZIP)
    assert (answer.status_code, answer.json()["outcome"]) == (201, "kept")
    assert not answer.json()["kept"]["is_served"]
    assert upload(manager, SECOND)["outcome"] == "was_kept_before"
    assert anybody.get(FIT).json() == before


def test_an_activation_changes_answers_and_their_tags_at_once(
    anybody: TestClient, manager: TestClient
) -> None:
    before = anybody.get(FIT)
    told = activate(manager, SECOND)
    after = anybody.get(FIT, headers={"If-None-Match": before.headers["etag"]})
    assert told["outcome"] == "activated"
    assert told["release"]["name"] == after.headers[RELEASE_HEADER] != before.headers[RELEASE_HEADER]
    assert after.status_code == 200
    assert after.json()["answer"]["total_minor"] == before.json()["answer"]["total_minor"] - 100


def test_a_pinned_answer_is_the_same_bytes_under_later_releases(
    anybody: TestClient, manager: TestClient
) -> None:
    address = anybody.get(FIT).json()["pinned"]
    before = anybody.get(address)
    assert "immutable" in before.headers["cache-control"]
    for archive in (SECOND, priced(9_700)):
        activate(manager, archive)
        later = anybody.get(address)
        assert (later.status_code, later.content) == (200, before.content)
        assert later.headers[RELEASE_HEADER] == before.headers[RELEASE_HEADER]


def test_any_question_can_be_asked_of_an_older_release(anybody: TestClient, manager: TestClient) -> None:
    first = anybody.get(FIT)
    older = {RELEASE_HEADER: first.headers[RELEASE_HEADER]}
    cart = {"bike": BIKE, "parts": [{"part": PART, "place": PLACE}], "on": "2026-05-01"}
    before = anybody.post("/v1/cart-checks", json=cart)
    activate(manager, SECOND)
    assert anybody.get(FIT, headers=older).content == first.content
    assert anybody.post("/v1/cart-checks", json=cart, headers=older).content == before.content
    assert anybody.post("/v1/cart-checks", json=cart).content != before.content
    assert "Loomway-Release" in first.headers["vary"]


def test_a_release_that_was_never_served_cannot_be_asked(anybody: TestClient, manager: TestClient) -> None:
    name = anybody.get(FIT).headers[RELEASE_HEADER]
    kept = upload(manager, SECOND)["kept"]["id"]
    for odd in (f"{kept}.{name.split('.')[1]}", "r-nothing.1", "x" * 120, name + "x"):
        answer = anybody.get(FIT, headers={RELEASE_HEADER: odd})
        assert (answer.status_code, answer.json()["code"]) == (404, "unknown-release")


@pytest.mark.parametrize(
    ("archive", "step"), [(BROKEN, "check"), (b"PK no archive", "files"), (SECOND[:-30], "files")]
)
def test_a_bad_upload_is_refused_with_every_reason(
    anybody: TestClient, manager: TestClient, archive: bytes, step: str
) -> None:
    told = upload(manager, archive)
    assert (told["outcome"], told["kept"], told["refused"]["step"]) == ("refused", None, step)
    assert bool(told["refused"]["diagnostics"]) == (step == "check")
    ready = anybody.get("/health/ready").json()
    assert ready["release"]["id"] == "r-small"


@pytest.mark.parametrize("archive", [FAILING, WITHOUT_CASES])
def test_a_release_whose_cases_fail_is_not_served(
    anybody: TestClient, manager: TestClient, archive: bytes
) -> None:
    told = activate(manager, archive)
    assert (told["outcome"], told["refused"]["step"]) == ("refused", "cases")
    assert told["release"]["id"] == "r-small"


def test_a_release_that_changes_answers_which_nobody_wants_is_not_served(
    anybody: TestClient, manager: TestClient
) -> None:
    kept = upload(manager, SECOND)["kept"]["id"]
    told = manager.post("/v1/activations", json={"release": kept, "why": "new prices"}).json()
    assert (told["outcome"], told["refused"]["step"]) == ("refused", "impact")
    (change,) = told["refused"]["impact"]["changes"]
    assert (change["least_minor"], change["most_minor"]) == (-100, -100)
    assert anybody.get(FIT).json()["release"]["id"] == "r-small"


def test_readiness_says_which_serves_and_which_was_refused_and_why(
    app: FastAPI, anybody: TestClient, manager: TestClient
) -> None:
    upload(manager, BROKEN)
    app.state.office.follower.follow()
    database = anybody.get("/health/ready").json()["database"]
    assert database["wanted"] == "r-small"
    assert database["refused"]["says"].startswith("check: 1 error")
    assert "curlew.yaml" not in json.dumps(database), "places in files are for catalog users"
    activate(manager, SECOND)
    assert anybody.get("/health/ready").json()["database"]["refused"] is None


def test_going_back_is_one_request(anybody: TestClient, manager: TestClient) -> None:
    before = anybody.get(FIT).content
    activate(manager, SECOND)
    told = manager.post("/v1/rollbacks", json={"why": "wrong price"}).json()
    assert (told["event"]["kind"], told["release"]["id"]) == ("rolled_back", "r-small")
    assert anybody.get(FIT).content == before


def test_the_history_says_who_when_and_why(manager: TestClient) -> None:
    activate(manager, SECOND)
    told = manager.get("/v1/activations", params={"limit": 1}).json()
    event = told["events"][0]
    assert (event["kind"], event["by"], event["why"]) == ("activated", "Sunniva, catalog", "new prices")
    assert event["at"].endswith("Z")
    assert not told["complete"]
    rest = manager.get("/v1/activations", params={"before": told["next"]}).json()
    assert [x["number"] for x in rest["events"]] == [2, 1]
    assert rest["complete"]


def test_of_two_managers_the_second_is_told(manager: TestClient) -> None:
    activate(manager, SECOND)
    kept = upload(manager, priced(9_700))["kept"]["id"]
    body = {"release": kept, "why": "mine", "instead_of": "r-small"}
    answer = manager.post("/v1/activations", json=body)
    assert (answer.status_code, answer.json()["code"]) == (409, "overtaken")


def test_a_hold_is_part_of_every_answer_and_its_tag_at_once(anybody: TestClient, manager: TestClient) -> None:
    before = anybody.get(FIT)
    hold = manager.post("/v1/holds", json={"part": PART, "says": "A batch has loose cones."}).json()
    held = anybody.get(FIT, headers={"If-None-Match": before.headers["etag"]})
    assert held.json()["answer"]["verdict"] == "does_not_fit"
    assert "A batch has loose cones." in held.text
    assert anybody.get(before.json()["pinned"]).content == anybody.get(before.json()["pinned"]).content
    number = hold["event"]["number"]
    assert [x["number"] for x in manager.get("/v1/holds").json()["holds"]] == [number]
    manager.post("/v1/lifted-holds", json={"hold": number, "why": "the batch went back"})
    assert anybody.get(FIT).content == before.content
    again = anybody.get(held.json()["pinned"])
    assert again.json()["answer"]["verdict"] == "does_not_fit", "that answer was given under the hold"


@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        ({"part": "curlew-slm", "says": "x"}, 404, "unknown-part"),
        ({"part": PART, "says": ""}, 422, "malformed-request"),
        ({"part": PART, "says": "x", "first": "2026-05-02", "last": "2026-05-01"}, 422, "malformed-question"),
        ({"part": PART, "says": "x", "last": "2026-04-30"}, 422, "malformed-question"),
    ],
)
def test_a_hold_that_makes_no_sense_is_refused(
    manager: TestClient, body: dict[str, str], status: int, code: str
) -> None:
    answer = manager.post("/v1/holds", json=body)
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert manager.get("/v1/holds").json()["holds"] == []


def closed(app: FastAPI) -> list[tuple[str, str]]:
    """Every operation that its document says needs a key, but for those on saved plans."""
    return [
        (method, path.format(release="r-small"))
        for path, methods in app.openapi()["paths"].items()
        for method, operation in methods.items()
        if operation.get("security") and not re.match(PLANS, path)
    ]


@pytest.mark.parametrize(
    ("headers", "status", "code"),
    [
        ({}, 401, "key-needed"),
        ({"Authorization": "Bearer "}, 401, "key-needed"),
        ({"Authorization": "Bearer lw_000000000000_" + "x" * 43}, 401, "key-needed"),
        ({"Authorization": f"Basic {small_key()['Authorization'][7:]}"}, 401, "key-needed"),
        (small_key("sales"), 403, "wrong-role"),
    ],
)
def test_nothing_is_released_without_the_right_key(
    app: FastAPI, anybody: TestClient, headers: dict[str, str], status: int, code: str
) -> None:
    assert len(closed(app)) == 10
    for method, path in closed(app):
        answer = anybody.request(method, path, headers={**ZIP, **headers})
        assert (answer.status_code, answer.json()["code"]) == (status, code)
    answer = anybody.post("/v1/releases", content=SECOND, headers={**ZIP, **headers})
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    if status == 401:
        assert answer.headers["www-authenticate"] == "Bearer"


def test_a_key_never_reaches_a_log_or_an_answer(
    anybody: TestClient, manager: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    secret = small_key()["Authorization"].split("_", 2)[2]
    with caplog.at_level(logging.DEBUG):
        told = [
            manager.get("/v1/activations").text,
            manager.get("/v1/releases").text,
            manager.post("/v1/activations", json={"release": "r-none", "why": "x"}).text,
            manager.post("/v1/holds", content=b"{").text,
        ]
    assert secret not in "".join(told) + caplog.text


def test_an_upload_of_another_kind_is_refused(manager: TestClient) -> None:
    for kind in ("application/json", "text/plain", "multipart/form-data; boundary=x", ""):
        answer = manager.post("/v1/releases", content=SECOND, headers={"Content-Type": kind})
        assert (answer.status_code, answer.json()["code"]) == (415, "not-an-archive")


def test_an_upload_has_a_limit_of_its_own() -> None:
    settings = Settings(body_limit_bytes=1_000, upload_limit_bytes=20_000)
    with TestClient(small_app(Engine, settings), headers=small_key()) as client:
        assert client.post("/v1/releases", content=SECOND, headers=ZIP).status_code == 201
        too_long = client.post("/v1/releases", content=bytes(20_001), headers=ZIP)
        streamed = client.post("/v1/releases", content=iter([bytes(15_000)] * 2), headers=ZIP)
        other = client.post("/v1/holds", json={"part": PART, "says": "x" * 1_000})
    assert [x.json()["code"] for x in (too_long, streamed, other)] == ["body-too-large"] * 3


def test_without_a_database_questions_are_answered_and_the_rest_says_why() -> None:
    app = create_app(small_release(), Settings(), today=lambda: date(2026, 5, 1))
    with TestClient(app, headers=small_key()) as client:
        assert client.get(FIT).status_code == 200
        assert client.get("/health/ready").json()["database"] is None
        answer = client.get("/v1/releases")
        older = client.get(FIT, headers={RELEASE_HEADER: "r-other.1"})
    assert (answer.status_code, answer.json()["code"]) == (503, "no-database")
    assert older.status_code == 404


@pytest.mark.parametrize(
    ("error", "status", "code"), [(StoreLost, 503, "database-lost"), (StoreFull, 507, "no-room")]
)
def test_what_goes_wrong_with_the_database_is_told_and_answers_go_on(
    anybody: TestClient,
    manager: TestClient,
    monkeypatch: pytest.MonkeyPatch,
    error: type,
    status: int,
    code: str,
) -> None:
    def fail(*_: object) -> None:
        raise error

    monkeypatch.setattr(Office, "holder", fail)
    answer = manager.post("/v1/activations", json={"release": "r-small", "why": "x"})
    assert (answer.status_code, answer.json()["code"]) == (status, code)
    assert anybody.get(FIT).status_code == 200


def test_an_older_release_is_not_said_to_be_unknown_while_the_database_is_gone(
    anybody: TestClient, manager: TestClient, app: FastAPI, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise StoreLost

    monkeypatch.setattr("service.releasing.shelf.open_named", fail)
    answer = anybody.get(FIT, headers={RELEASE_HEADER: "r-gone.1"})
    assert (answer.status_code, answer.json()["code"]) == (503, "database-lost")
    assert answer.headers["retry-after"]
