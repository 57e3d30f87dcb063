"""The conversation over REST: from a saved plan to a visit that was done, what is left, the next bike, and the rider's link."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import update

from service import story
from service.plans.form import question_asked, to_content
from service.plans.saved import Pinned
from service.store.schema import plan_revisions
from tests.contract.keeping import PLANS
from tests.contract.whole import demo_app, demo_key, demo_release
from tests.plans.desk import RIDER

QUESTION = question_asked(story.PATH)
SAVE = {**QUESTION, "rider": {"name": RIDER.name, "contact": RIDER.contact}, "why": "at the counter"}
RELEASE = demo_release().id
PRESET = {
    "amplifier": {"part": "fulmar-4", "place": "fairing_tray"},
    "serial": "F4-00123",
    "made_on": "2027-04-05",
    "made_by": "Odd",
}


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with TestClient(demo_app(), headers=demo_key("sales")) as client:
        yield client


def save(client: TestClient, word: str) -> dict[str, Any]:
    answer = client.post("/v1/plans", json=SAVE, headers={"Idempotency-Key": word})
    assert answer.status_code == 201, answer.text
    assert answer.headers["etag"] == '"1"'
    told: dict[str, Any] = answer.json()["saved"]
    return told


def change(client: TestClient, saved: dict[str, Any], what: str, body: Any, tag: str, **more: str) -> Any:
    headers = {"If-Match": tag, **more}
    return client.post(f"/v1/plans/{saved['id']}/{what}", json=body, headers=headers)


def code(answer: Any) -> tuple[int, str]:
    return answer.status_code, answer.json()["code"]


def test_the_whole_conversation(client: TestClient) -> None:
    saved = save(client, "conversation")
    assert (saved["state"], saved["to_come"], saved["rider"]["name"]) == ("planned", [1, 2], RIDER.name)
    assert saved["question"] == QUESTION
    address = f"/v1/plans/{saved['id']}"
    assert client.get(address).json()["standing"]["word"] == "holds"

    cheaper = client.post(f"{address}/what-ifs", json={"drop": ["tern-52"]}).json()
    assert cheaper["answer"]["outcome"] == "path"
    assert cheaper["dearer_by_minor"] < 0
    assert client.post(f"{address}/what-ifs", json={"budget_minor": 1}).json()["answer"]["cures"]

    done = change(client, saved, "visits-done", {"visit": 1, "on": "2026-05-04", "by": "Odd"}, '"1"')
    assert done.headers["etag"] == '"2"'
    assert [x["as_planned"] for x in done.json()["saved"]["done"]] == [True]
    sheet = {"visit": 1, "on": "2026-05-04", "by": "Odd", "rest_v": 12.7, "signed_by": "Odd"}
    tested = change(client, saved, "test-sheets", sheet, '"2"').json()["saved"]
    assert tested["done"][0]["sheet"]["rest_v"] == 12.7

    anew = change(client, saved, "revisions", {"why": "spring"}, '"3"').json()["saved"]
    assert (anew["revision"], anew["to_come"], anew["state"]) == (4, [1], "under_way")
    second = {"visit": 1, "on": "2027-04-05", "by": "Odd", "presets": [PRESET]}
    judged = client.get(f"{address}/test-sheets").json()
    assert [(x["number"], x["holds"]) for x in judged["sheets"]] == [(1, False)]
    assert judged["cautions"]
    finished = change(client, saved, "visits-done", second, '"4"').json()["saved"]
    assert finished["state"] == "finished"
    assert finished["found_now"]["presets"] == ["fulmar-4"]
    assert client.get(address).json()["standing"]["word"] == "nothing_left"

    parts = client.get(f"{address}/warranty?on=2027-06-01").json()["parts"]
    amplifier = next(x for x in parts if x["part"]["part"] == "fulmar-4")
    assert (amplifier["serial"], amplifier["in_term"], amplifier["same_piece"]) == ("F4-00123", True, True)

    kinds = [x["kind"] for x in client.get(f"{address}/revisions").json()["revisions"]]
    assert kinds == ["visit_done", "planned_anew", "tested", "visit_done", "made"]
    first = client.get(f"{address}/revisions/1").json()
    assert first["saved"]["plan"] == saved["plan"]
    assert client.get(address).json()["saved"]["plan"]["visits"][0]["figures"]["labour"]

    moved = change(
        client, saved, "moves", {"next_bike": story.NEXT_BIKE}, '"5"', **{"Idempotency-Key": "next bike"}
    )
    assert moved.status_code == 201, moved.text
    assert moved.json()["saved"]["moved"]["plan"] == saved["id"]
    assert client.get(address).json()["saved"]["archived_at"]
    assert saved["id"] in [x["id"] for x in client.get("/v1/plans?archived=true").json()["plans"]]


def test_a_visit_that_was_written_down_wrongly_is_put_right_or_taken_back(client: TestClient) -> None:
    saved = save(client, "corrected")
    change(client, saved, "visits-done", {"visit": 1, "on": "2026-05-04", "by": "Odd"}, '"1"')
    only_speakers = {
        "number": 1,
        "by": "Jorun",
        "removed": [],
        "fitted": [{"part": "tern-52", "place": "rear_pods", "paid_minor": 9_900, "serial": "T-8"}],
    }
    assert code(change(client, saved, "visit-corrections", only_speakers, '"2"')) == (
        422,
        "malformed-request",
    )
    because = {**only_speakers, "why": "it was the rears"}
    assert code(change(client, saved, "visit-corrections", {**because, "number": 2}, '"2"')) == (
        404,
        "unknown-visit",
    )
    right = change(client, saved, "visit-corrections", because, '"2"').json()["saved"]
    visit = right["done"][0]
    assert (visit["by"], visit["on"], visit["as_planned"]) == ("Jorun", "2026-05-04", False)
    assert [(x["part"]["part"], x["serial"]) for x in visit["fitted"]] == [("tern-52", "T-8")]
    assert [x["part"] for x in right["found_now"]["fitted"]] == ["tern-52"]
    never = {"number": 1, "never_done": True, "why": "another bike"}
    back = change(client, saved, "visit-corrections", never, '"3"').json()["saved"]
    assert (back["state"], back["done"], back["to_come"]) == ("planned", [], [1, 2])
    history = client.get(f"/v1/plans/{saved['id']}/revisions").json()["revisions"]
    assert [(x["kind"], x["why"]) for x in history][:2] == [
        ("corrected", "another bike"),
        ("corrected", "it was the rears"),
    ]
    before = client.get(f"/v1/plans/{saved['id']}/revisions/2").json()["saved"]
    assert before["done"][0]["by"] == "Odd"


def test_the_same_key_gives_the_same_plan_and_another_request_is_refused(client: TestClient) -> None:
    saved = save(client, "twice")
    again = client.post("/v1/plans", json=SAVE, headers={"Idempotency-Key": "twice"})
    assert (again.status_code, again.json()["saved"]) == (200, saved)
    other = client.post("/v1/plans", json={**SAVE, "why": "x"}, headers={"Idempotency-Key": "twice"})
    assert code(other) == (422, "key-used-otherwise")
    assert code(client.post("/v1/plans", json=SAVE)) == (422, "malformed-request")


def test_a_change_says_what_it_was_made_to(client: TestClient) -> None:
    saved = save(client, "locking")
    address = f"/v1/plans/{saved['id']}/archive"
    for headers in ({}, {"If-Match": "*"}):
        assert code(client.post(address, json={}, headers=headers)) == (428, "revision-needed")
    for tag in ('"2"', '"0"', 'W/"1"', "1", '"1", "2"', "x"):
        assert code(client.post(address, json={}, headers={"If-Match": tag})) == (412, "plan-changed")
    assert client.post(address, json={}, headers={"If-Match": '"1"'}).headers["etag"] == '"2"'
    assert code(change(client, saved, "revisions", {}, '"2"')) == (409, "plan-archived")


def test_a_question_without_a_path_is_an_answer_and_saves_nothing(client: TestClient) -> None:
    before = client.get("/v1/plans").json()["plans"]
    told = client.post(
        "/v1/plans", json={**QUESTION, "budget_minor": 1}, headers={"Idempotency-Key": "poor"}
    ).json()
    assert (told["outcome"], told["saved"]) == ("no_path", None)
    assert told["no_path"]["cures"]
    assert client.get("/v1/plans").json()["plans"] == before


def test_a_rider_reads_the_plan_with_a_link_and_nothing_personal_is_in_it(client: TestClient) -> None:
    saved = save(client, "shared")
    made = client.post(f"/v1/plans/{saved['id']}/shares", json={"days": 14}).json()
    read = client.get(f"/v1/shared-plans/{made['secret']}", headers={"Authorization": ""})
    assert read.status_code == 200
    assert read.headers["referrer-policy"] == "no-referrer"
    assert read.headers["cache-control"] == "no-store"
    assert [x["spent_minor"] for x in read.json()["visits"]] == [
        x["spent_minor"] for x in saved["plan"]["visits"]
    ]
    for word in ("Tangen", "strand", "waste", "proof", saved["id"]):
        assert word not in read.text
    withdrawn = client.post(f"/v1/plans/{saved['id']}/withdrawn-shares", json={"share": made["share"]["id"]})
    assert withdrawn.json()["shares"][0]["withdrawn_at"]
    assert code(client.get(f"/v1/shared-plans/{made['secret']}")) == (404, "unknown-share")


def test_a_rider_is_given_everything_and_forgotten(client: TestClient) -> None:
    saved = save(client, "rights")
    rider = saved["rider"]["id"]
    told = client.get(f"/v1/riders/{rider}").json()
    assert told["rider"]["contact"] == RIDER.contact
    assert [x["saved"]["id"] for x in told["plans"]] == [saved["id"]]
    assert client.post("/v1/erased-riders", json={"rider": rider}).json()["erased"] is True
    assert code(client.get(f"/v1/riders/{rider}")) == (404, "unknown-rider")
    assert client.get(f"/v1/plans/{saved['id']}").json()["saved"]["rider"] is None


def test_plans_are_found_by_name_without_the_name_in_an_address(client: TestClient) -> None:
    saved = save(client, "searched")
    body = {**SAVE, "rider": {"name": "Torfinn Bakke"}}
    other = client.post("/v1/plans", json=body, headers={"Idempotency-Key": "other rider"}).json()["saved"]
    found = client.post("/v1/plan-searches", json={"text": "bakke"}).json()
    assert [x["id"] for x in found["plans"]] == [other["id"]]
    assert saved["id"] != other["id"]


def test_whoever_has_no_key_for_sales_learns_nothing(client: TestClient) -> None:
    saved = save(client, "closed")
    address = f"/v1/plans/{saved['id']}"
    assert code(client.get(address, headers={"Authorization": ""})) == (401, "key-needed")
    assert code(client.get(address, headers=demo_key("catalog"))) == (403, "wrong-role")
    body = {"nonsense": 1}
    assert code(client.post("/v1/plans", json=body, headers={"Authorization": ""})) == (401, "key-needed")


def test_every_operation_on_plans_needs_a_key_for_sales_but_reading_with_a_link(client: TestClient) -> None:
    filling = {"plan": "0" * 32, "rider": "0" * 32, "number": 1, "secret": "none"}
    document = demo_app().openapi()["paths"]
    closed = [
        (method, path.format(**filling))
        for path, methods in document.items()
        for method in methods
        if re.match(PLANS, path) and not path.startswith("/v1/shared-plans")
    ]
    assert len(closed) == 22
    for method, path in closed:
        nobody = client.request(method, path, headers={"Authorization": ""})
        other = client.request(method, path, headers=demo_key("catalog"))
        assert (code(nobody), code(other)) == ((401, "key-needed"), (403, "wrong-role")), path


def test_nothing_personal_is_written_to_the_log(client: TestClient, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    saved = save(client, "logged")
    client.post("/v1/plan-searches", json={"text": RIDER.name})
    change(client, saved, "rider", {"name": RIDER.name, "contact": "x@y.example"}, '"1"')
    assert RIDER.name not in caplog.text
    assert "example" not in caplog.text


def test_a_plan_is_read_though_its_release_is_not_there_any_more(client: TestClient) -> None:
    saved = save(client, "old")
    office = client.app.state.office  # type: ignore[attr-defined]
    keeper = office.keeper("tests")
    for release in (f"{RELEASE}.1", "r-0000000000000000.2"):
        old = replace(keeper.get(saved["id"]), pinned=Pinned(release=release, on=story.TODAY))
        content = to_content(old)
        with office.database.writing() as connection:
            connection.execute(
                update(plan_revisions).where(plan_revisions.c.plan == old.id).values(content=content)
            )
        told = client.get(f"/v1/plans/{old.id}")
        assert told.status_code == 200, told.text
        plan = told.json()["saved"]
        assert (plan["made_under"], plan["plan"]["total_minor"]) == (release, saved["plan"]["total_minor"])
        assert plan["plan"]["visits"][0]["figures"]["labour"] == []
        assert told.json()["standing"]["word"] == "holds"
