"""The drawings: a bike is drawn as it is, and nothing stands upon anything else."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from itertools import pairwise

import pytest
from fastapi.testclient import TestClient

from rules.answer import Plan
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.release import Release
from service import story
from service.app import create_app
from service.desk.drawing.bike import draw_bike, letters_of
from service.desk.drawing.outline import Looks
from service.desk.drawing.spots import spots
from service.desk.drawing.spread import spread
from service.desk.drawing.svg import element
from service.desk.drawing.wires import draw_wires
from service.desk.view import bench_of
from service.desk.wiring import plugged
from service.serving import Serving
from service.settings import Settings
from tests.browser.shop import STORY
from tests.contract.whole import demo_release

CATALOG = demo_release().catalog
BIKES = sorted(CATALOG.bikes)


def test_a_bike_is_drawn_as_it_is() -> None:
    coast, voyage = (Looks.of(CATALOG.bikes[f"whimbrel-2022-{x}"]) for x in ("coast", "voyage"))
    assert (coast.top_case, voyage.top_case) == (False, True)
    assert coast.liquid
    gadwall = Looks.of(CATALOG.bikes[story.BIKE])
    assert not gadwall.liquid
    assert gadwall.battery_x < coast.battery_x


@pytest.mark.parametrize("bike", BIKES[::7])
def test_every_place_of_every_bike_is_lettered_drawn_and_named(bike: str) -> None:
    one = CATALOG.bikes[bike]
    drawn = draw_bike(one, CATALOG, new=(), there=(), name="b")
    assert {x.place for x in drawn.marks} == set(one.has.places)
    assert len(set(letters_of(one, CATALOG).values())) == len(one.has.places)
    assert all(x.drawn for x in drawn.marks)
    words = " ".join(ET.fromstring(drawn.side).itertext())  # noqa: S314 -- our own drawing
    for mark in drawn.marks:
        assert all(word in words for word in mark.name.split())


def with_a_tray() -> Catalog:
    """The demo, in which the story's bike has a place that nobody drew."""
    bike = CATALOG.bikes[story.BIKE]
    places = {**bike.has.places, "sump_tray": bike.has.places["battery"]}
    has = bike.has.model_copy(update={"places": places})
    tray = CATALOG.places["battery"].model_copy(update={"id": "sump_tray", "name": "tray under the sump"})
    return replace(
        CATALOG,
        places={**CATALOG.places, "sump_tray": tray},
        bikes={**CATALOG.bikes, story.BIKE: replace(bike, has=has)},
    )


def test_a_place_that_nobody_drew_is_named_under_the_drawing() -> None:
    catalog = with_a_tray()
    drawn = draw_bike(catalog.bikes[story.BIKE], catalog, new=(), there=(), name="b")
    assert drawn.not_drawn == "Not on the drawing: K tray under the sump (nothing there)."
    assert "sump" not in drawn.side + drawn.above
    app = create_app(Release.of(catalog), Settings(), today=lambda: story.TODAY)
    with TestClient(app) as shop:
        for path in (f"brief?bike={story.BIKE}", f"plan?{STORY}", f"papers/fitting?{STORY}&visit=2"):
            assert shop.get(f"/desk/{path}").text.count("Not on the drawing: K tray under the sump") == 1


def test_no_two_places_are_marked_on_the_same_spot() -> None:
    for bike in CATALOG.bikes.values():
        known = spots(Looks.of(bike))
        held = [known[x].side for x in bike.has.places if x in known]
        for at, one in enumerate(held):
            for other in held[at + 1 :]:
                assert abs(one[0] - other[0]) + abs(one[1] - other[1]) > 20, bike.id


def test_names_stand_side_by_side() -> None:
    placed = spread([50, 52, 54, 600], [100, 80, 60, 100], 640)
    for (left, wide), (right, other) in pairwise(zip(placed, [100, 80, 60, 100], strict=True)):
        assert right - left >= (wide + other) / 2 - 0.01
    assert placed[-1] <= 590


def test_what_stands_in_a_name_is_never_markup() -> None:
    assert "<b>" not in element("text", "<b>Tern</b> & Co", fill='"red"')


def test_the_wiring_shows_every_joint_once_and_what_is_new_bold() -> None:
    serving = Serving.of(demo_release())
    plan = Engine(CATALOG).path(story.PATH)
    assert isinstance(plan, Plan)
    bench = bench_of(story.PATH, serving)
    visit = plan.visits[1]
    told = plugged(visit, bench)
    assert len(told.joints) == len(visit.wiring or ())
    assert {x.says for x in told.joints} == {"new", "new, goes in between", "stays as it is"}
    drawn = draw_wires(told, bench, frozenset(visit.adds), name="w")
    words = [x.text or "" for x in ET.fromstring(drawn).iter("{http://www.w3.org/2000/svg}text")]  # noqa: S314 -- likewise
    numbers = sorted(int(y) for x in words if re.fullmatch(r"[\d ]+", x) for y in x.split())
    assert numbers == [x.number for x in told.joints]
    assert {"Fulmar 4", "Marram harness", "left: pair 1 left"} <= set(words)
