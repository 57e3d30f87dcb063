"""The pages: what may run in them, what they make of bad input, and who may see saved plans."""

from __future__ import annotations

from collections.abc import Iterator
from json import dumps
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from service import story
from tests.browser.shop import STORY
from tests.contract.whole import demo_app

OURS = {"Sec-Fetch-Site": "same-origin"}


@pytest.fixture(scope="module")
def shop() -> Iterator[TestClient]:
    with TestClient(demo_app(), follow_redirects=False) as client:
        yield client


@pytest.mark.parametrize("path", ["", f"/brief?bike={story.BIKE}", f"/plan?{STORY}", f"/papers/test?{STORY}"])
def test_a_page_runs_and_loads_only_what_is_its_own(shop: TestClient, path: str) -> None:
    answer = shop.get(f"/desk{path}")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "<style" not in answer.text
    assert " style=" not in answer.text
    assert " onclick" not in answer.text
    assert "http://" not in answer.text.replace("http://www.w3.org/2000/svg", "")


def test_every_picture_has_its_words(shop: TestClient) -> None:
    page = shop.get(f"/desk/plan?{STORY}").text
    assert page.count("<svg") == page.count('role="img"') == page.count("<title id=") > 3
    assert "C fairing pods: fitted at this visit" in page


def test_the_same_question_is_the_same_page_but_for_its_one_use_word(shop: TestClient) -> None:
    pages = {shop.get(f"/desk/papers/fitting?{STORY}&visit=2").content for _ in range(2)}
    assert len(pages) == 1


@pytest.mark.parametrize(
    ("path", "status", "words"),
    [
        ("/desk/plan?q=nothing", 422, "begin again from the bike"),
        (f"/desk/plan?{STORY}&on=2026-05-04&budget=many", 422, "write it like 1200"),
        (f"/desk/plan?{STORY}&on=2027-05-04&on=2026-05-04", 422, "a later day than the one before"),
        ("/desk/brief?bike=gadwall-2018-grond", 404, "gadwall-2018-grand"),
        (f"/desk/papers/nothing?{STORY}", 404, "no such page"),
        (f"/desk/papers/test?{STORY}&visit=9", 422, "Nothing is done then"),
    ],
)
def test_bad_input_is_answered_with_a_page_and_a_cure(
    shop: TestClient, path: str, status: int, words: str
) -> None:
    answer = shop.get(path)
    assert answer.status_code == status
    assert words.lower() in answer.text.lower()
    assert "<script>" not in answer.text


def test_where_nothing_has_to_be_done_the_page_says_so(shop: TestClient) -> None:
    there = {"bike": story.BIKE, "visits": [{"on": "2026-05-04"}], "wants": [{"zone": "fronts"}]}
    page = shop.get("/desk/plan?" + urlencode({"q": dumps(there)})).text
    assert "Nothing has to be done: all that is wanted is on the bike." in page


@pytest.mark.parametrize(
    "query",
    [
        "q=" + "[" * 20_000,
        'q={"bike":NaN}',
        "q=%22%5Cud800%22",
        "q=" + "&on=" * 500,
        f"bike={story.BIKE}&on=2026-05-18&want=tern-65%40fairing_pods&by=%C2%B2",
        f"bike={story.BIKE}&on=2026-05-18&want=tern-65%40fairing_pods&by=1&budget=1e400",
        f"bike={story.BIKE}&on=99999-01-01&want=a%40b&by=1",
        "bike=%00&on=2026-05-18&want=a%40b",
        f"{STORY}&on=9999-12-31&budget=300",
    ],
)
def test_nothing_that_stands_in_an_address_brings_the_service_down(shop: TestClient, query: str) -> None:
    assert shop.get(f"/desk/plan?{query}").status_code in {200, 400, 404, 422}


def test_what_a_form_brings_is_never_taken_for_markup(shop: TestClient) -> None:
    answer = shop.get("/desk/plan?" + urlencode({"q": '{"bike": "<script>alert(1)</script>"}'}))
    assert "<script>alert" not in answer.text


def test_saved_plans_ask_for_a_key_first(shop: TestClient) -> None:
    answer = shop.get("/desk/plans")
    assert (answer.status_code, answer.headers["location"]) == (303, "/desk/key")


def test_a_form_of_another_page_is_refused(shop: TestClient) -> None:
    for headers in ({"Sec-Fetch-Site": "cross-site"}, {"Origin": "https://elsewhere.example"}, {}):
        answer = shop.post("/desk/key", data={"key": "x"}, headers=headers)
        assert answer.status_code == 403


def test_a_wrong_key_lets_nobody_in(shop: TestClient) -> None:
    answer = shop.post("/desk/key", data={"key": "x"}, headers=OURS)
    assert answer.status_code == 303
    assert "set-cookie" not in answer.headers


def test_money_is_read_as_people_write_it(shop: TestClient) -> None:
    from service.desk.asked import minor_of

    where = shop.app.state.serving.catalog.shop  # type: ignore[attr-defined]
    read = [minor_of(x, where, "budget") for x in ("300", "1 200,50", "1.200", "1,200.5", "0.05", "")]
    assert read == [30_000, 120_050, 120_000, 120_050, 5, None]


def test_a_lost_database_is_said_on_a_page(shop: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    from service.store.errors import StoreError

    def lost(*_: object) -> None:
        raise StoreError

    monkeypatch.setattr(type(shop.app.state.office), "holder", lost)  # type: ignore[attr-defined]
    answer = shop.post("/desk/key", data={"key": "x"}, headers=OURS)
    assert answer.status_code == 503
    assert "The database cannot be reached" in answer.text


def test_answers_that_were_given_stand_in_the_form_again(shop: TestClient) -> None:
    page = shop.get(
        f"/desk/brief?bike={story.BIKE}&rides=fast&listens=music&on=2026-06-01&fitter=home&budget=450&whole=900"
    ).text
    assert 'value="fast" checked' in page
    assert 'value="music" checked' in page
    assert 'value="2026-06-01"' in page
    assert 'value="450"' in page
    assert '<option value="home" selected>' in page


@pytest.mark.parametrize(
    ("method", "path", "allow"),
    [
        ("POST", "/desk", "GET, HEAD"),
        ("PUT", "/desk/key", "GET, HEAD, POST"),
        ("GET", "/desk/key/away", "POST"),
        ("DELETE", "/desk/plans", "GET, HEAD, POST"),
        ("GET", "/desk/plans/0/anew", "POST"),
        ("POST", "/desk/static/desk.css", "GET, HEAD"),
    ],
)
def test_a_wrong_method_is_told_which_ones_an_address_takes(
    shop: TestClient, method: str, path: str, allow: str
) -> None:
    answer = shop.request(method, path, headers=OURS)
    assert (answer.status_code, answer.headers["allow"]) == (405, allow)
