"""The next bike: own parts that are fitted there are not sold, and that is set against buying everything anew."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.next_bike import NextBike
from rules.question import NextBikeQuestion, Stage, Want
from tests.unit.catalogs import DAY, amplifier, as_found, harness, one, power_kit, prices, shop, speaker

ONE_VISIT = (Stage(on=DAY),)
SYSTEM = (amplifier(), harness(), power_kit())
LISTS = (
    prices(
        "all", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 1000, "tern": 1500}, resale={"petrel": 300}
    ),
)


def moved(catalog, *fitted: str, stages=ONE_VISIT, **more: Any) -> NextBike:
    question = NextBikeQuestion(
        bike="curlew", next_bike="curlew", stages=stages, found=as_found(*fitted), **more
    )
    return Engine(catalog).next_bike(question)


def test_own_speakers_go_along_instead_of_being_sold():
    found = moved(shop(speaker(at=("rears",)), lists=LISTS), "petrel@rears")
    assert found.own == (one("petrel@rears"),)
    assert (found.sold, found.fetched, found.net) == ((), 0, 0)
    assert (found.new_net, found.worth) == (1000 - 300, 300)


def test_what_the_rider_brings_is_no_line_of_the_bill():
    found = moved(shop(speaker(at=("rears",)), lists=LISTS), "petrel@rears")
    assert found.plan is not None
    assert [line for visit in found.plan.visits for line in visit.lines] == []
    assert found.plan.visits[0].adds == (one("petrel@rears"),)
    assert (found.plan.total, found.plan.proof.bound) == (0, 0)


def test_the_same_zones_are_wanted_where_nothing_else_is():
    found = moved(shop(speaker(at=("rears",)), lists=LISTS), "petrel@rears")
    assert [(want.zone, want.least_w) for want in found.wants] == [("rears", 20.0)]


def test_one_own_pair_does_not_serve_two_places():
    wants = (Want(parts=("petrel", "tern"), place="pods"), Want(parts=("petrel", "tern"), place="rears"))
    catalog = shop(speaker(), speaker("tern"), lists=LISTS)
    found = moved(catalog, "petrel@rears", wants=wants)
    assert len(found.own) == 1
    assert found.plan is not None
    assert sum(x.part == "petrel" for x in found.plan.visits[0].adds) == 1
    assert found.net == 1500


def test_what_does_not_go_along_is_sold():
    catalog = shop(speaker(at=("rears",)), speaker("tern", at=("pods",)), lists=LISTS)
    found = moved(catalog, "petrel@rears", wants=(Want(parts=("tern",), place="pods"),))
    assert (found.own, found.sold, found.fetched) == ((), (one("petrel@rears"),), 300)
    assert found.net == 1500 - 300 == found.new_net


def test_where_two_pairs_of_what_the_rider_has_are_the_only_way_both_are_bought():
    wants = (Want(parts=("petrel",), place="pods"), Want(parts=("petrel",), place="rears"))
    found = moved(shop(speaker(), lists=LISTS), "petrel@rears", wants=wants)
    assert (found.own, found.fetched) == ((), 300)
    assert found.net == found.new_net == 2 * 1000 - 300


def test_own_parts_that_are_no_longer_sold_go_along_all_the_same():
    found = moved(shop(speaker(at=("rears",), stock_only=True), lists=LISTS), "petrel@rears")
    assert (found.net, found.new) == (0, None)


def test_without_own_speakers_and_wants_there_is_nothing_to_plan():
    assert moved(shop(speaker())).plan is None


def test_a_visit_to_the_next_bike_has_no_budget():
    with pytest.raises(MalformedQuestion) as raised:
        moved(shop(speaker()), stages=(Stage(on=DAY, budget=1000),))
    assert raised.value.field == "stages.0.budget"


def test_a_next_bike_needs_a_visit():
    with pytest.raises(MalformedQuestion):
        moved(shop(speaker()), stages=())
