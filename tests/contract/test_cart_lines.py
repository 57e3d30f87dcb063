"""A cart's answer line by line, with the real engine."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from fastapi.testclient import TestClient

from tests.contract.whole import demo_app, small_whole_app

API = Path(__file__).parents[2] / "docs" / "api.md"
BIKE = "bittern-2019-plain"


@pytest.fixture(scope="module")
def client() -> TestClient:
    return TestClient(small_whole_app())


def cart(client: TestClient, *parts: dict[str, str], bike: str = BIKE) -> dict[str, Any]:
    answer = client.post("/v1/cart-checks", json={"bike": bike, "parts": list(parts)})
    assert answer.status_code == 200
    told: dict[str, Any] = answer.json()
    return told


def test_each_line_says_where_it_goes(client: TestClient) -> None:
    told = cart(client, {"part": "curlew-slim"}, {"part": "curlew-slim", "place": "fairing_pods"})
    lines = [(x["part"], x["asked_for"], [y["place"] for y in x["placed"]], x["again"]) for x in told["cart"]]
    assert lines == [
        ("curlew-slim", None, ["rear_pods"], False),
        ("curlew-slim", "fairing_pods", ["fairing_pods"], False),
    ]


def test_a_line_that_is_there_before_says_so(client: TestClient) -> None:
    same = {"part": "curlew-slim", "place": "fairing_pods"}
    told = cart(client, same, same)
    assert [x["again"] for x in told["cart"]] == [False, True]
    assert told["verdict"] == "does_not_fit"


def test_a_finding_on_one_line_alone_is_told_there_and_nowhere_else(client: TestClient) -> None:
    told = cart(client, {"part": "curlew-deep"}, {"part": "curlew-grille"}, bike="bittern-2020-plain-late")
    assert [[x["rule"] for x in line["findings"]] for line in told["cart"]] == [["speaker_too_deep"], []]
    assert (told["findings"], [line["rules"] for line in told["cart"]]) == ([], [[], []])


def test_a_finding_on_several_lines_is_told_once_and_each_of_them_names_its_rule(client: TestClient) -> None:
    slim, deep = ({"part": x, "place": "fairing_pods"} for x in ("curlew-slim", "curlew-deep"))
    told = cart(client, slim, deep, {"part": "curlew-grille"})
    (taken,) = told["findings"]
    assert (taken["rule"], [x["part"] for x in taken["present"]]) == (
        "slot_taken",
        ["curlew-deep", "curlew-slim"],
    )
    assert [line["rules"] for line in told["cart"]] == [["slot_taken"], ["slot_taken"], []]


def test_a_calculation_names_its_facts_by_where_they_stand_among_the_causes() -> None:
    lid = {"part": "campion-lids-case-deep-primer", "place": "lids"}
    told = cart(TestClient(demo_app()), lid, bike="gadwall-2021-grand")
    found = next(x for x in told["cart"][0]["findings"] if x["rule"] == "lid_swing_hits_top_case")
    facts = {
        x["name"]: [found["causes"][at]["fact"] for at in x["causes"]] for x in found["calculation"]["inputs"]
    }
    assert facts == {
        "swing_mm": ["part.swing_mm"],
        "margin": [],
        "place_swing_mm": ["places.lids.geometry.swing_mm"],
    }


def test_a_line_tells_colour_and_how_long_it_takes_to_come(client: TestClient) -> None:
    line = cart(client, {"part": "curlew-slim"})["cart"][0]
    part = client.get("/v1/parts/curlew-slim").json()["part"]
    assert (line["name"], line["colour"], line["lead_days"]) == (
        part["name"],
        part["colour"],
        part["lead_days"],
    )


def test_a_later_visit_is_looked_at_only_where_somebody_asks(client: TestClient) -> None:
    assert cart(client, {"part": "curlew-grille"})["later"] is None


def test_each_zone_without_new_speakers_says_what_it_takes_later(client: TestClient) -> None:
    asked = {"bike": BIKE, "parts": [{"part": "curlew-grille"}], "on": "2026-05-01", "later_on": "2026-09-01"}
    told = client.post("/v1/cart-checks", json=asked).json()
    assert told["verdict"] == "fits"
    later = {zone["zone"]: zone for zone in told["later"]}
    assert [zone["can"] for zone in later.values()] == ["yes", "not_verified"]
    fronts = later["fronts"]
    assert "curlew-slim" in [x["part"] for x in fronts["adds"]]
    assert "curlew-grille" not in [x["part"] for x in fronts["adds"]], "it is there by then"
    assert fronts["total_minor"] == sum(x["total_minor"] for x in fronts["lines"] if x["kind"] != "resale")
    assert {x["speaker"] for x in fronts["feeds"] if x["place"] == "fairing_pods"} == {"curlew-slim"}


def test_zones_that_the_cart_serves_are_not_looked_at(client: TestClient) -> None:
    asked = {"bike": BIKE, "parts": [{"part": "curlew-slim"}], "on": "2026-05-01", "later_on": "2026-09-01"}
    told = client.post("/v1/cart-checks", json=asked).json()
    assert [zone["zone"] for zone in told["later"]] == ["rears"]


def test_a_cart_that_does_not_fit_has_no_later_visit(client: TestClient) -> None:
    same = {"part": "curlew-slim", "place": "fairing_pods"}
    asked = {"bike": BIKE, "parts": [same, same], "on": "2026-05-01", "later_on": "2026-09-01"}
    assert client.post("/v1/cart-checks", json=asked).json()["later"] == []


@pytest.mark.parametrize("later_on", ["2026-05-01", "2026-04-30"])
def test_a_later_visit_is_later(client: TestClient, later_on: str) -> None:
    asked = {"bike": BIKE, "parts": [{"part": "curlew-slim"}], "on": "2026-05-01", "later_on": later_on}
    answer = client.post("/v1/cart-checks", json=asked)
    assert (answer.status_code, answer.json()["field"]) == (422, "/body/later_on")


def test_the_example_in_the_guide_to_the_api_says_what_is_said_of_it() -> None:
    section = API.read_text(encoding="utf-8").partition("\n## A cart\n")[2].partition("\n## ")[0]
    example = re.search(r"```json\n(.*?)```", section, re.DOTALL)
    assert example
    told = TestClient(demo_app()).post("/v1/cart-checks", json=json.loads(example[1])).json()
    later = {zone["zone"]: zone for zone in told["later"]}
    assert (later["rears"]["can"], later["lowers"]["can"]) == ("yes", "no")
    assert "marram-sk20-4@fairing_loom" in [x["about"] for x in later["lowers"]["conflicts"]]
    assert "marram-sk20-4" in [x["part"] for x in told["extras"]]
