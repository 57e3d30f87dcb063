"""What lies around the framework: limits, figures, origins that may ask, and a log whose answers can be given again."""

from __future__ import annotations

import json
import re
import resource
import time
from datetime import date
from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from rules.answer import FitAnswer
from rules.engine import Engine
from rules.load import load_catalog
from rules.question import FitQuestion
from rules.release import Release
from service.app import create_app
from service.observing.decisions import read_decisions
from service.observing.replay import replay
from service.settings import Settings
from service.terminal.mistakes import WrongCommand
from service.terminal.replaying import replay_log
from tests.contract.canned import CannedEngine
from tests.contract.small import DIRECTORY, small_app

KNOWN = "/v1/fitment/bittern-2019-plain/curlew-slim"
PATH = {
    "bike": "bittern-2019-plain",
    "visits": [{"on": "2026-05-01"}],
    "wants": [{"any_of": ["curlew-slim"], "place": "fairing_pods"}],
}
CART = {"bike": "bittern-2019-plain", "parts": [{"part": "curlew-slim"}]}


def settings(**changed: object) -> Settings:
    return Settings().model_copy(update=changed)


def test_a_client_that_asks_too_often_is_told_when_to_go_on() -> None:
    client = TestClient(small_app(settings=settings(requests_per_minute=3)))
    statuses = [client.get(KNOWN).status_code for _ in range(3)]
    refused = client.get(KNOWN)
    assert (statuses, refused.status_code, refused.json()["code"]) == ([200] * 3, 429, "too-many-requests")
    assert 1 <= int(refused.headers["retry-after"]) <= 60
    assert refused.headers["loomway-release"] == refused.json()["release"]


def test_each_key_is_counted_for_itself_and_who_watches_is_not_counted() -> None:
    client = TestClient(small_app(settings=settings(requests_per_minute=1)))
    for key in ("one", "other", ""):
        headers = {"Authorization": f"Bearer {key}"} if key else {}
        assert [client.get(KNOWN, headers=headers).status_code for _ in range(2)] == [200, 429]
    assert {client.get("/health/live").status_code for _ in range(5)} == {200}
    assert client.get("/metrics").status_code == 200


def test_figures_count_by_template_and_name_the_rules_that_answers_named() -> None:
    client = TestClient(small_app())
    for address in (KNOWN, KNOWN, "/v1/fitment/no-such-bike/x", "/nowhere/at-all"):
        client.get(address)
    page = client.get("/metrics").text
    route = "/v1/fitment/{bike}/{part}"
    assert f'loomway_requests_total{{method="GET",route="{route}",status="200"}} 2.0' in page
    assert f'loomway_requests_total{{method="GET",route="{route}",status="404"}} 1.0' in page
    assert 'loomway_requests_total{method="GET",route="none",status="404"} 1.0' in page
    assert f'loomway_request_seconds_count{{route="{route}"}} 3.0' in page
    assert "no-such-bike" not in page
    assert "loomway_judged_total 1.0" in page
    assert "loomway_release_age_seconds" in page


def test_figures_tell_what_searching_cost_by_the_kind_of_question() -> None:
    client = TestClient(small_app(Engine))
    client.get(KNOWN)
    once = work(client.get("/metrics").text)
    assert once["loomway_engine_questions_total", "fit"] == 1
    assert once["loomway_search_work_total", "fit"] > 0
    client.get(KNOWN)
    assert work(client.get("/metrics").text) == once, "what is known costs nothing"
    client.post("/v1/paths", json=PATH)
    assert work(client.get("/metrics").text)["loomway_search_work_total", "cured"] > 0


def work(page: str) -> dict[tuple[str, str], float]:
    """Read the counted work by question."""
    found: dict[tuple[str, str], float] = {}
    for name, question, amount in re.findall(r'^(\w+)\{question="(\w+)".*\} (\S+)$', page, re.MULTILINE):
        found[name, question] = found.get((name, question), 0) + float(amount)
    return found


def test_only_pages_of_allowed_origins_may_ask() -> None:
    client = TestClient(small_app(settings=settings(allowed_origins=("https://shop.example",))))
    allowed, other = (
        client.get(KNOWN, headers={"Origin": f"https://{name}.example"}) for name in ("shop", "other")
    )
    assert allowed.headers["access-control-allow-origin"] == "https://shop.example"
    assert "access-control-allow-origin" not in other.headers
    assert "Origin" in allowed.headers["vary"]
    assert (
        "access-control-allow-origin"
        not in TestClient(small_app()).get(KNOWN, headers={"Origin": "x"}).headers
    )


def test_what_is_known_is_answered_before_the_framework_for_pages_of_other_origins_too(
    reached: list[str],
) -> None:
    client = TestClient(small_app(settings=settings(allowed_origins=("https://shop.example",))))
    told = [client.get(KNOWN, headers={"Origin": "https://shop.example"}).headers for _ in range(3)]
    assert reached == [KNOWN]
    assert {x["access-control-allow-origin"] for x in told} == {"https://shop.example"}
    assert len({x["loomway-request-id"] for x in told}) == len(told)


class Slow(CannedEngine):
    """Takes its time for one part."""

    def fit(self, question: FitQuestion) -> FitAnswer:
        if question.part == "curlew-deep":
            time.sleep(0.5)
        return super().fit(question)


def test_what_takes_too_long_is_told_so_and_is_there_later() -> None:
    client = TestClient(small_app(Slow, settings(answer_seconds=0.1)))
    slow = "/v1/fitment/bittern-2019-plain/curlew-deep"
    with client:
        early = client.get(slow)
        assert (early.status_code, early.json()["code"]) == (503, "took-too-long")
        time.sleep(0.8)
        assert client.get(slow).status_code == 200


def test_more_at_once_than_is_taken_on_is_refused_but_known_answers_are_not() -> None:
    client = TestClient(small_app(settings=settings(at_once=1)))
    client.get(KNOWN)
    none = TestClient(small_app(settings=settings(at_once=0)))
    refused = none.get(KNOWN)
    assert (refused.status_code, refused.json()["code"]) == (503, "too-busy")
    assert client.get(KNOWN).status_code == 200


def test_every_logged_answer_can_be_given_again(tmp_path: Path) -> None:
    log = tmp_path / "decisions.jsonl"
    with TestClient(small_app(settings=settings(decision_log=log))) as client:
        for address in (KNOWN, KNOWN, KNOWN + "?fitter=home", "/v1/parts/curlew-slim/bikes", "/v1/parts"):
            client.get(address)
        client.post("/v1/cart-checks", json=CART)
        client.get("/v1/fitment/no-such-bike/x")
    decisions = list(read_decisions(log))
    assert len(decisions) == 5, "what a shop sells by, and nothing else"
    assert all(x.same for x in replay(small_app(), decisions))
    changed = [x._replace(digest="0" * 32) for x in decisions]
    assert not any(x.same for x in replay(small_app(), changed))


@pytest.mark.parametrize("room", [0, 2])
def test_what_the_log_has_no_room_for_is_counted(tmp_path: Path, room: int) -> None:
    app = small_app(settings=settings(decision_log=tmp_path / "log"))
    app.state.decisions._room = room
    client = TestClient(app)
    for _ in range(5):
        client.get(KNOWN)
    assert app.state.decisions.dropped == 5 - room
    assert f"loomway_decisions_dropped_total {5.0 - room}" in client.get("/metrics").text


def test_a_line_that_a_full_disk_cuts_short_is_dropped_and_the_next_begins_anew(tmp_path: Path) -> None:
    log = tmp_path / "decisions.jsonl"
    app = small_app(settings=settings(decision_log=log))
    client, decisions = TestClient(app), app.state.decisions
    client.get(KNOWN)
    decisions.write()
    room = log.stat().st_size * 5 // 2
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    for _ in range(3):
        client.get(KNOWN)
    try:
        resource.setrlimit(resource.RLIMIT_FSIZE, (room, limits[1]))
        decisions.write()
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert (log.stat().st_size, decisions.dropped) == (room, 2)
    client.get(KNOWN)
    decisions.write()
    assert len(list(read_decisions(log))) == 3


def test_a_full_disk_drops_and_counts_and_answers_go_on(tmp_path: Path) -> None:
    app = small_app(settings=settings(decision_log=tmp_path / "no-such-directory" / "log"))
    with TestClient(app) as client:
        assert client.get(KNOWN).status_code == 200
        app.state.decisions.write()
        assert client.get(KNOWN).status_code == 200
    assert app.state.decisions.dropped == 2


def test_each_request_has_an_id_and_a_failure_is_logged_with_it(caplog: pytest.LogCaptureFixture) -> None:
    client = TestClient(small_app(settings=settings(at_once=0)))
    ids = {client.get(KNOWN).headers["loomway-request-id"] for _ in range(3)}
    logged = [json.loads(record.message) for record in caplog.records if record.name == "loomway"]
    assert len(ids) == 3
    assert {x["id"] for x in logged} == ids
    assert {(x["status"], x["route"]) for x in logged} == {(503, "/v1/fitment/{bike}/{part}")}


def test_what_fails_on_the_quick_way_is_a_problem_that_tells_nothing_of_it(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("a secret")

    monkeypatch.setattr("service.storefront.quick.known_fit", broken)
    app = small_app()
    answer = TestClient(app, raise_server_exceptions=False).get(KNOWN)
    assert (answer.status_code, answer.json()["code"]) == (500, "internal-fault")
    assert answer.headers["content-type"] == "application/problem+json"
    assert answer.headers["loomway-request-id"]
    assert "secret" not in answer.text
    assert app.state.figures.requests.total() == 1


def test_a_log_is_given_again_by_command(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    log = tmp_path / "decisions.jsonl"
    app = create_app(
        Release.of(load_catalog(DIRECTORY)), settings(decision_log=log), today=lambda: date(2026, 5, 1)
    )
    with TestClient(app) as client:
        client.get(KNOWN)
        client.post("/v1/cart-checks", json=CART)
    assert replay_log(log, settings(), DIRECTORY) == 0
    assert capsys.readouterr().out == "2 of 2 answers are the same\n"
    log.write_text(log.read_text().replace('"digest":"', '"digest":"0'))
    assert replay_log(log, settings(), DIRECTORY) == 1
    assert "GET /v1/fitment/bittern-2019-plain/curlew-slim: now 200" in capsys.readouterr().out
    log.write_text("no log")
    with pytest.raises(WrongCommand):
        replay_log(log, settings(), DIRECTORY)
