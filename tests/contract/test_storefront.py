"""The storefront's quick way says what the framework's way says, byte for byte, and what the models define."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import product

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from httpx2 import Response

from rules.periods import Periods
from rules.question import FitQuestion
from service import story
from service.links import pinned_address
from service.middleware import Receive, Scope
from service.serving import Serving
from service.shapes.fitment import FitChecksTold, FitResponse, FittingTold
from service.storefront.reply import Heads
from tests.contract.small import TODAY, small_app, small_release
from tests.contract.whole import demo_app, demo_release, small_whole_app

BIKE, PART = "bittern-2019-plain", "curlew-slim"
KNOWN = f"/v1/fitment/{BIKE}/{PART}"
QUERIES = ("", "?fitter=home", "?place=fairing_pods", "?on=2026-07-01&fitter=shop")


class NoQuickWay:
    """Stands in for the quick way, and leaves everything to the framework."""

    def __init__(self, limit_bytes: int) -> None:
        pass

    async def answer(self, scope: Scope, heads: Heads, receive: Receive) -> tuple[None, Receive]:
        return None, receive


@pytest.fixture(scope="module")
def framework() -> TestClient:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr("service.observing.wiring.Quick", NoQuickWay)
        return TestClient(small_whole_app(), raise_server_exceptions=False)


@pytest.fixture(scope="module")
def thin() -> TestClient:
    return TestClient(small_whole_app(), raise_server_exceptions=False)


def told(response: Response) -> tuple[int, bytes, list[tuple[str, str]]]:
    # Each request has an id of its own.
    headers = [x for x in response.headers.items() if x[0] != "loomway-request-id"]
    return response.status_code, response.content, sorted(headers)


def test_every_pair_has_the_same_bytes_and_headers_by_both_ways(
    thin: TestClient, framework: TestClient
) -> None:
    catalog = small_release().catalog
    for bike, part, query in product([*catalog.bikes, *catalog.ambiguous], catalog.parts, QUERIES):
        address = f"/v1/fitment/{bike}/{part}{query}"
        first, again = thin.get(address), thin.get(address)
        assert told(first) == told(again) == told(framework.get(address)), address
        if first.status_code == 200:
            pinned = first.json()["pinned"]
            assert told(thin.get(pinned)) == told(framework.get(pinned))


def test_a_known_pair_does_not_reach_the_framework(reached: list[str]) -> None:
    client = TestClient(small_app())
    answers = {client.get(KNOWN).content for _ in range(3)}
    assert (len(answers), reached) == (1, [KNOWN])


@pytest.mark.parametrize(
    "address",
    [
        "/v1/fitment/no-such-bike/curlew-slim",
        f"/v1/fitment/{BIKE}/no-such-part",
        f"{KNOWN}?place=nowhere",
        f"{KNOWN}?place=",
        f"{KNOWN}?fitter=nobody",
        f"{KNOWN}?on=2026-02-30",
        f"{KNOWN}?on=20260501",
        f"{KNOWN}?colour=red",
        f"{KNOWN}?fitter=shop&fitter=home",
        f"{KNOWN}?fitter",
        f"{KNOWN}?&fitter=shop",
        f"{KNOWN}/",
        f"{KNOWN}//",
        f"/{KNOWN}",
        f"/v1/fitment/{BIKE}/%00",
        f"/v1/fitment/{BIKE}/curlew%2Fslim",
        f"/v1/fitment/{BIKE}/%2e%2e",
        f"/v1/fitment/{BIKE}/cu%72lew-slim",
        f"/v1/fitment/{BIKE}/{'x' * 200}",
        f"/v2/fitment/{BIKE}/{PART}",
        f"/v1/releases/r-other.1/fitment/{BIKE}/{PART}/2026-05-01",
        f"/v1/releases/r-small.2/fitment/{BIKE}/{PART}/2026-05-32",
        f"/v1/releases/r-small.2/fitment/{BIKE}/{PART}/2026-05-01?on=2026-05-01",
    ],
)
@pytest.mark.parametrize("method", ["GET", "HEAD", "POST"])
def test_what_is_not_plain_is_answered_alike(
    thin: TestClient, framework: TestClient, address: str, method: str
) -> None:
    for client in (thin, framework):
        assert client.get(KNOWN).status_code == 200
    assert told(thin.request(method, address)) == told(framework.request(method, address))


@pytest.mark.parametrize("tag", ["{etag}", "W/{etag}", '"other", {etag}', "*", '"other"', "", "{etag"])
def test_conditional_requests_are_answered_alike(thin: TestClient, framework: TestClient, tag: str) -> None:
    etag = thin.get(KNOWN).headers["etag"]
    headers = {"If-None-Match": tag.replace("{etag}", etag)}
    assert told(thin.get(KNOWN, headers=headers)) == told(framework.get(KNOWN, headers=headers))


def test_an_answer_put_together_is_what_the_models_define(thin: TestClient) -> None:
    serving = small_serving(thin)
    question = FitQuestion(bike=BIKE, part=PART, on=TODAY)
    defined = FitResponse.from_domain(
        serving.engine.fit(question), question, pinned_address(question, serving), serving
    )
    assert thin.get(KNOWN).content == thin.get(KNOWN).content == defined.model_dump_json().encode()


def test_many_answers_and_lists_put_together_are_what_the_models_define(thin: TestClient) -> None:
    asked = {"questions": [{"bike": BIKE, "part": PART}, {"bike": "x", "part": PART}]}
    checks = thin.post("/v1/fitment-checks", json=asked).content
    assert FitChecksTold.model_validate_json(checks).model_dump_json().encode() == checks
    for address in (f"/v1/bikes/{BIKE}/parts?limit=1", f"/v1/parts/{PART}/bikes"):
        page = thin.get(address).content
        assert FittingTold.model_validate_json(page).model_dump_json().encode() == page


def test_demo_answers_put_together_are_what_the_models_define() -> None:
    app, serving = demo_app(), Serving.of(demo_release())
    client = TestClient(app)
    for question in story.looked_at(demo_release().catalog):
        address = f"/v1/fitment/{question.bike}/{question.part}?place={question.place}"
        pinned = pinned_address(question, serving)
        defined = FitResponse.from_domain(serving.engine.fit(question), question, pinned, serving)
        for _ in range(2):
            assert client.get(address).content == defined.model_dump_json().encode()


def test_within_a_period_answers_differ_in_their_day_alone() -> None:
    catalog = demo_release().catalog
    periods, serving = Periods(catalog), Serving.of(demo_release())
    day, question = story.TODAY, story.REFUSED
    later = next(
        day + timedelta(days=n)
        for n in range(300, 0, -1)
        if periods.number(day + timedelta(days=n)) == periods.number(day)
    )
    for part in ("tern-65", "tern-52"):
        one, other = (
            serving.engine.fit(FitQuestion(bike=question.bike, part=part, place=question.place, on=on))
            for on in (day, later)
        )
        assert one == other


def test_a_period_ends_with_a_price_list_an_availability_or_a_hold() -> None:
    periods = Periods(small_release().catalog)
    first = date(2026, 1, 1)
    assert periods.number(first - timedelta(days=1)) < periods.number(first), (
        "curlew-slim is made from this day on"
    )
    assert periods.number(date(2028, 12, 31)) < periods.number(date(2029, 1, 1)), "and to the end of 2028"


def test_a_client_never_reads_older_than_it_has_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("service.middleware.WAITED_S", 0.1)
    app = small_app()
    client = TestClient(app)
    app.state.serving = app.state.serving.renumbered(7)
    seen = client.get(KNOWN).headers["loomway-release-number"]
    assert seen == "7"
    assert client.get(KNOWN, headers={"Loomway-Min-Release": seen}).status_code == 200
    early = client.get(KNOWN, headers={"Loomway-Min-Release": "8"})
    assert (early.status_code, early.json()["code"]) == (503, "release-behind")
    assert early.headers["retry-after"] == "5"


def test_what_was_worked_out_is_bounded() -> None:
    app = small_app()
    app.state.serving.table._kept = 2
    client = TestClient(app)
    for bike in (BIKE, "bittern-2020-plain-early", BIKE):
        for part in ("curlew-slim", "curlew-deep", "curlew-grille"):
            assert client.get(f"/v1/fitment/{bike}/{part}").status_code == 200
            assert len(app.state.serving.table) == sum(
                len(x.recipes) for x in app.state.serving.table._rows.values()
            )
            assert 1 <= len(app.state.serving.table) <= 2


def test_a_row_knows_what_fits_whatever_comes_in_later() -> None:
    app = small_app()
    client = TestClient(app)
    fitting = []
    for part in ("curlew-slim", "curlew-deep"):
        client.get(f"/v1/fitment/{BIKE}/{part}")
        fitting.append(app.state.serving.table.row(BIKE, None, "shop", TODAY).fitting)
    assert fitting == [("curlew-slim",), ("curlew-deep", "curlew-slim")]


def small_serving(client: TestClient) -> Serving:
    app = client.app
    assert isinstance(app, FastAPI)
    serving = app.state.serving
    assert isinstance(serving, Serving)
    return serving
