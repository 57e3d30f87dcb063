"""What leaves the shop on paper: all that belongs on it, and nothing that a rider must not read."""

from __future__ import annotations

import re
from collections.abc import Iterator
from html import unescape
from urllib.parse import urlencode

import pytest
from fastapi.testclient import TestClient

from service import story
from tests.browser.shop import STORY
from tests.contract.whole import demo_app

RIDERS = ("quote", "at-home", "warranty")
SHOPS = ("picks", "fitting", "test")
NEVER = ("decibel", " db ", "dba promise", "louder", "optimal", "solver", "proven", "proof", "waste")


@pytest.fixture(scope="module")
def shop() -> Iterator[TestClient]:
    with TestClient(demo_app()) as client:
        yield client


def told(shop: TestClient, name: str, visit: int = 2, **more: str) -> str:
    answer = shop.get(f"/desk/papers/{name}?{STORY}&{urlencode({'visit': visit, **more})}")
    assert answer.status_code == 200
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", answer.text)).split())


@pytest.mark.parametrize("name", [*RIDERS, *SHOPS])
def test_a_paper_names_no_rule_and_promises_no_level(shop: TestClient, name: str) -> None:
    paper = told(shop, name)
    assert [x for x in NEVER if x in f" {paper.lower()} "] == []
    rules = shop.app.state.serving.catalog.rules  # type: ignore[attr-defined]
    assert [rule for rule in rules if "_" in rule and rule in paper] == []


def test_a_quote_has_one_fitted_price_and_all_that_stays(shop: TestClient) -> None:
    paper = told(shop, "quote", 1, valid="2026-05-31", deposit="60", earliest="2026-05-18")
    for words in (
        "Fitted price 201.60",
        "of which tax at 24 % 39.02",
        "All of this stays",
        "We pay you 15.00",
        "Offered in writing on 4 May 2026",
        "Later visits, at today’s prices, not an offer",
        "Valid until 31 May 2026",
        "Deposit 60.00 EUR",
        "Earliest in the workshop 18 May 2026",
        "Where the law of the place says more, it holds",
        "I agree to the work at this price",
    ):
        assert words in paper


def test_what_a_quote_leaves_open_is_a_line_to_write_on(shop: TestClient) -> None:
    answer = shop.get(f"/desk/papers/quote?{STORY}")
    assert answer.text.count('class="blank"') == 3


def test_a_pick_list_has_each_part_with_its_shelf_name_and_the_label(shop: TestClient) -> None:
    paper = told(shop, "picks")
    for words in (
        "thrift-10-m8",
        "fulmar-4",
        "tern-52",
        "pair 1, left and right fronts 4 ohm",
        "void with",
        "Find out battery age (years) of this bike and record it.",
    ):
        assert words in paper
    assert story.BIKE not in paper


def test_a_fitting_sheet_goes_from_the_battery_to_the_fuse(shop: TestClient) -> None:
    paper = told(shop, "fitting")
    order = (
        "Battery disconnected, negative first",
        "Take the windscreen off",
        "Take the head unit out and put it back.",
        "Take the old speakers out.",
        "Fit the amplifier on its tray.",
        "Lay the power lead to the battery",
        "Turn the bars from lock to lock",
        "The main fuse goes in last of all: 40 A",
        "Load the preset and listen.",
        "Test sheet filled in and signed",
    )
    assert [paper.index(x) for x in order] == sorted(paper.index(x) for x in order)


def test_at_home_nothing_is_done_with_current(shop: TestClient) -> None:
    paper = told(shop, "at-home")
    assert "nothing on this sheet is done with current" in paper
    assert "test tone" not in paper
    assert "Load the preset" not in paper
    assert "Flash the head unit in the workshop. The workshop does this." in paper


def test_a_test_sheet_asks_for_every_reading(shop: TestClient) -> None:
    paper = told(shop, "test")
    for words in (
        "At rest",
        "Idling",
        "Raised",
        "8.71 V",
        "Fronts, left against right",
        "Photos",
        "signed for",
    ):
        assert words in paper


def test_a_warranty_card_has_last_days_and_no_automatic_refusal(shop: TestClient) -> None:
    paper = told(shop, "warranty")
    assert "5 April 2030" in paper
    assert "In date is a reason to inspect it" in paper
    assert "a change alone is no reason to say no" in paper


def test_a_paper_comes_as_a_pdf(shop: TestClient) -> None:
    answer = shop.get(f"/desk/papers/quote?{STORY}&as=pdf")
    assert answer.headers["content-type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
