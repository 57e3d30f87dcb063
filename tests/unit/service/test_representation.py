"""The same answer is the same bytes, and a client that has them is not sent them again."""

from __future__ import annotations

import pytest
from fastapi.testclient import TestClient

from rules.release import ENGINE_REVISION
from tests.contract.small import small_app

FIT = "/v1/fitment/bittern-2019-plain/curlew-slim"

RELEASE = f"r-small.{ENGINE_REVISION}"


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(small_app())


@pytest.mark.parametrize("address", ["/v1/catalog", "/v1/bikes", "/v1/parts/curlew-slim", FIT])
def test_an_answer_is_the_same_bytes_every_time(client: TestClient, address: str) -> None:
    first, second = client.get(address), client.get(address)
    assert first.content == second.content
    assert first.headers["etag"] == second.headers["etag"]
    assert first.headers["cache-control"] == "public, no-cache"


@pytest.mark.parametrize("tag", ["{}", "W/{}", '"other", {}', "*"])
def test_who_has_the_answer_is_told_so(client: TestClient, tag: str) -> None:
    etag = client.get(FIT).headers["etag"]
    answer = client.get(FIT, headers={"If-None-Match": tag.format(etag)})
    assert (answer.status_code, answer.content, answer.headers["etag"]) == (304, b"", etag)
    assert answer.headers["loomway-release"] == RELEASE


def test_who_has_another_answer_gets_this_one(client: TestClient) -> None:
    assert client.get(FIT, headers={"If-None-Match": '"other"'}).status_code == 200


def test_a_pinned_address_gives_the_same_answer_for_ever(client: TestClient) -> None:
    today = client.get(FIT)
    pinned = client.get(today.json()["pinned"])
    assert pinned.content == today.content
    assert pinned.headers["cache-control"] == "public, max-age=31536000, immutable"


def test_a_pinned_address_keeps_place_day_and_fitter(client: TestClient) -> None:
    answer = client.get(FIT, params={"place": "rear_pods", "on": "2027-01-02", "fitter": "home"}).json()
    assert answer["pinned"] == (
        f"/v1/releases/{RELEASE}/fitment/bittern-2019-plain/curlew-slim/2027-01-02?place=rear_pods&fitter=home"
    )


def test_what_is_answered_to_a_body_is_kept_by_no_cache(client: TestClient) -> None:
    answer = client.post(
        "/v1/fitment-checks", json={"questions": [{"bike": "bittern-2019-plain", "part": "x"}]}
    )
    assert answer.headers["cache-control"] == "no-store"
    assert "etag" not in answer.headers
