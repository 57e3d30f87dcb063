"""What a shop must ask again after a release: told bike by bike, to its end, and never too little."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient

from rules.engine import Engine
from tests.contract.small import small_app
from tests.releasing.shelves import PARTS, PRICES, changed, serve

ALL = {"verdict": ["fits", "fits_with", "not_verified", "does_not_fit"]}
ON = "2026-05-01"


@pytest.fixture
def app() -> FastAPI:
    return small_app(Engine)


@pytest.fixture
def shop(app: FastAPI) -> Iterator[TestClient]:
    with TestClient(app, raise_server_exceptions=False) as client:
        yield client


def release(app: FastAPI, archive: bytes) -> str:
    """Serve another release, and give the name of the one that was served until now."""
    before = str(app.state.serving.name)
    serve(app.state.office.database, archive)
    app.state.office.follower.follow(at_once=True)
    assert app.state.serving.name != before
    return before


def changes(shop: TestClient, since: str, **asked: Any) -> list[dict[str, Any]]:
    """Read all pages."""
    rows: list[dict[str, Any]] = []
    after: dict[str, str] = {}
    while True:
        answer = shop.get("/v1/changes", params={"since": since, "on": ON, **asked, **after})
        assert answer.status_code == 200, answer.text
        told = answer.json()
        assert (told["since"], told["on"]) == (since, ON)
        rows += told["rows"]
        if told["complete"]:
            assert told["next"] is None
            return rows
        after = {"after": told["next"]}


def export(shop: TestClient, app: FastAPI) -> dict[tuple[str, str], Any]:
    """Read everything, as a shop does that keeps an index."""
    found: dict[tuple[str, str], Any] = {}
    catalog = app.state.serving.catalog
    for bike in (*catalog.bikes, *catalog.ambiguous):
        told = shop.get(f"/v1/bikes/{bike}/parts.ndjson", params={"on": ON, **ALL}).text.splitlines()
        found |= {(row["bike"], row["part"]): row for row in map(json.loads, told[1:-1])}
    return found


@pytest.mark.parametrize(
    "archive",
    [
        changed(PRICES, "curlew-slim: 9900", "curlew-slim: 9800"),
        changed(PRICES, "curlew-grille: 2400", "curlew-grille: 3100"),
        changed(PARTS, "depth_mm: 41", "depth_mm: 90"),
        changed("bikes/bittern.yaml", "2021", "2022"),
    ],
    ids=["a price", "a price of what is needed besides", "a depth", "model years"],
)
def test_an_index_that_asks_again_what_it_is_told_to_is_the_whole_export(
    app: FastAPI, shop: TestClient, archive: bytes
) -> None:
    index = export(shop, app)
    since = release(app, archive)
    for row in changes(shop, since, limit=1):
        stale = {key for key in index if key[0] == row["bike"]}
        if row["standing"] == "some_parts":
            stale = {key for key in stale if key[1] in row["parts"]}
        for key in stale:
            del index[key]
        if row["standing"] != "gone":
            told = shop.get(f"/v1/bikes/{row['bike']}/parts.ndjson", params={"on": ON, **ALL}).text
            index |= {(x["bike"], x["part"]): x for x in map(json.loads, told.splitlines()[1:-1])}
    assert index == export(shop, app)


def test_nothing_is_stale_of_the_release_that_is_served_and_the_answer_need_not_be_sent_twice(
    app: FastAPI, shop: TestClient
) -> None:
    asked = {"since": app.state.serving.name, "on": ON}
    first = shop.get("/v1/changes", params=asked)
    assert (first.json()["rows"], first.json()["complete"], first.json()["since_on"]) == ([], True, ON)
    again = shop.get("/v1/changes", params=asked, headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")


def test_another_day_of_the_same_release_may_change_answers_too(app: FastAPI, shop: TestClient) -> None:
    name = app.state.serving.name
    assert changes(shop, name, since_on="2026-04-30") == []
    stale = changes(shop, name, since_on="2020-01-01")
    assert {row["standing"] for row in stale} == {"every_part"}


def test_a_hold_is_a_change_too(app: FastAPI, shop: TestClient) -> None:
    before = app.state.serving.name
    app.state.office.manager("Sunniva").hold(
        "curlew-slim", "A batch has loose cones.", date(2026, 5, 1), None
    )
    app.state.office.follower.follow(at_once=True)
    assert all("curlew-slim" in row["parts"] for row in changes(shop, before))


@pytest.mark.parametrize("name", ["r-never.2", "r-small.1", "nonsense"])
def test_what_cannot_be_compared_with_is_gone_and_the_cure_is_to_read_anew(
    shop: TestClient, name: str
) -> None:
    answer = shop.get("/v1/changes", params={"since": name})
    assert (answer.status_code, answer.json()["code"]) == (404, "release-gone")
    assert "anew" in answer.json()["cure"]
    assert answer.json()["field"] == "/query/since"
