"""The cheapest path over visits, and what stands in the way of one."""

from __future__ import annotations

from datetime import date

import pytest

from rules.answer import NoPlan, Plan
from rules.catalog.facts import DateSpan
from rules.catalog.rule import Clearance, Operation, PresetChain
from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import (
    DAY,
    NEXT_YEAR,
    UNKNOWN,
    all_of_kind,
    amplifier,
    as_found,
    bike,
    harness,
    one,
    placed,
    power_kit,
    preset,
    prices,
    ring,
    rule,
    shop,
    speaker,
)

ONE_VISIT = (Stage(on=DAY),)
TWO_VISITS = (Stage(on=DAY), Stage(on=NEXT_YEAR))
SYSTEM = (amplifier(), harness(), power_kit())


def asked(catalog, *wants, stages=ONE_VISIT, **more):
    wanted = tuple(Want(parts=(x,)) if isinstance(x, str) else x for x in wants)
    return Engine(catalog).path(PathQuestion(bike="curlew", stages=stages, wants=wanted, **more))


def plan(catalog, *wants, **more) -> Plan:
    answer = asked(catalog, *wants, **more)
    assert isinstance(answer, Plan), answer
    return answer


def conflict(catalog, *wants, **more):
    answer = asked(catalog, *wants, **more)
    assert isinstance(answer, NoPlan)
    assert answer.reason == "conflict"
    return {(x.kind, x.about) for x in answer.conflicts}


def test_a_wish_brings_what_it_needs():
    (visit,) = plan(shop(*SYSTEM), "fulmar").visits
    assert frozenset(visit.adds) == placed("fulmar@tray", "front-harness@dash", "power-kit@battery")


def test_a_budget_for_each_visit_spreads_the_path():
    tight = tuple(Stage(on=x.on, budget=2000) for x in TWO_VISITS)
    found = plan(
        shop(*SYSTEM, speaker()), "fulmar", "petrel", stages=(*tight[:1], Stage(on=NEXT_YEAR, budget=3000))
    )
    assert found.total == 4000
    assert all(visit.spent <= 3000 for visit in found.visits)


def test_a_part_that_gets_cheaper_is_bought_later_unless_it_is_wanted_sooner():
    lists = (
        prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 1000}),
        prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 800}),
    )
    catalog = shop(speaker(), lists=lists)
    assert plan(catalog, "petrel", stages=TWO_VISITS).total == 800
    assert plan(catalog, Want(parts=("petrel",), by=1), stages=TWO_VISITS).total == 1000


def stop_gap(price):
    """Give a shop in which the wanted speaker comes next year, and another fetches 900 used by then."""
    later = speaker(available=DateSpan(first=NEXT_YEAR, last=NEXT_YEAR))
    given, used = {"petrel": 1000, "plover": price}, {"plover": 900}
    lists = (prices("both", date(2030, 1, 1), date(2031, 12, 31), given, resale=used),)
    return shop(later, speaker("plover"), lists=lists)


def test_a_part_that_fetches_more_used_than_it_costs_new_pays_for_its_time():
    found = plan(stop_gap(600), Want(parts=("petrel",), place="rears"), stages=TWO_VISITS)
    assert (found.total, found.resale) == (700, 900)


def test_a_part_that_fetches_as_much_as_it_costs_is_left_alone():
    found = plan(stop_gap(900), Want(parts=("petrel",), place="rears"), stages=TWO_VISITS)
    assert (found.total, found.resale) == (1000, 0)


def test_a_part_that_is_not_there_yet_waits_for_its_day():
    late = speaker(available=DateSpan(first=NEXT_YEAR, last=NEXT_YEAR))
    first, second = plan(shop(late), "petrel", stages=TWO_VISITS).visits
    assert first.is_empty
    assert second.adds


def test_nothing_to_do_costs_nothing():
    found = plan(shop(speaker()), "petrel", found=as_found("petrel@rears"))
    assert (found.total, found.proof.is_proven) == (0, True)


@pytest.mark.parametrize(
    ("more", "expected"),
    [
        ({"budget": 2999}, ("path_budget", "path")),
        ({"year_budgets": {2030: 2999}}, ("year_budget", "2030")),
        ({"stages": (Stage(on=DAY, budget=2999),)}, ("budget", DAY.isoformat())),
        ({"excluded": frozenset({"power-kit"})}, ("excluded", "power-kit")),
    ],
)
def test_the_demand_that_makes_it_impossible_is_named(more, expected):
    assert conflict(shop(*SYSTEM), "fulmar", **more) == {expected, ("want", "fulmar")}


def test_a_budget_of_just_the_price_is_enough():
    assert plan(shop(*SYSTEM), "fulmar", budget=3000).total == 3000


def test_work_that_a_home_fitter_may_not_do_rules_a_visit_at_home_out():
    work = rule(
        Operation, "fit_amplifier", minutes=30, subject=all_of_kind("amplifier"), action="add", home=False
    )
    at_home = (Stage(on=DAY, fitter="home"),)
    assert ("fitter", DAY.isoformat()) in conflict(shop(*SYSTEM, work), "fulmar", stages=at_home)


def test_a_locked_part_stays():
    catalog = shop(speaker(at=("pods",)))
    locked = frozenset({one("works-pods@pods")})
    assert ("locked", "works-pods@pods") in conflict(catalog, "petrel", locked=locked)


def test_a_harness_of_an_earlier_visit_comes_out_only_if_the_rider_allows_it():
    catalog = shop(*SYSTEM, harness("new-harness"), price={"new-harness": 500})
    found = as_found("fulmar@tray", "front-harness@dash", "power-kit@battery")
    assert isinstance(asked(catalog, "new-harness", found=found), NoPlan)
    allowed = plan(catalog, "new-harness", found=found, allowed_rewiring=frozenset({"front-harness"}))
    assert [x.part for x in allowed.visits[0].removes] == ["front-harness"]


def test_a_path_over_an_unmeasured_place_says_what_to_measure():
    deep = {"spec": "depth_mm", "relation": "at_most", "geometry": "depth_mm"}
    law = rule(Clearance, subject=all_of_kind("speaker", "pods"), **deep)
    catalog = shop(speaker(at=("pods",)), law, on=bike(geometry={"depth_mm": UNKNOWN}))
    answer = asked(catalog, "petrel")
    assert isinstance(answer, NoPlan)
    assert answer.reason == "not_verified"
    assert [x.fact for x in answer.missing] == ["places.pods.geometry.depth_mm"]


def test_a_part_bought_and_sold_again_is_waste_less_what_it_fetched():
    lists = (
        prices(
            "now",
            date(2030, 1, 1),
            date(2031, 12, 31),
            {"petrel": 1000, "tern": 2000},
            resale={"petrel": 400},
        ),
    )
    tern = speaker("tern", at=("pods",), available=DateSpan(first=NEXT_YEAR, last=NEXT_YEAR))
    wants = (Want(parts=("petrel", "tern"), place="pods", by=1), Want(parts=("tern",), place="pods"))
    found = plan(shop(speaker(at=("pods",)), tern, lists=lists), *wants, stages=TWO_VISITS)
    assert (found.spent, found.resale, found.waste) == (3000, 400, 600)


@pytest.mark.parametrize(
    "stages",
    [
        (),
        TWO_VISITS[::-1],
        (*ONE_VISIT, *ONE_VISIT),
        tuple(Stage(on=date(2030, month, 1)) for month in range(1, 8)),
    ],
)
def test_visits_out_of_order_or_too_many_are_malformed(stages):
    with pytest.raises(MalformedQuestion):
        asked(shop(speaker()), "petrel", stages=stages)


@pytest.mark.parametrize("by", [0, 2])
def test_a_wish_by_a_visit_that_there_is_not_is_malformed(by):
    with pytest.raises(MalformedQuestion):
        asked(shop(speaker()), Want(parts=("petrel",), by=by))


def test_a_part_without_plugs_waits_for_the_visit_at_which_the_preset_that_is_due_costs_less():
    chain = rule(PresetChain, "chain", subject=all_of_kind("amplifier"))
    catalog = shop(*SYSTEM, preset(), ring(), chain)
    bike_now = as_found("fulmar@tray", "front-harness@dash", "power-kit@battery")
    home_then_shop = (Stage(on=DAY, fitter="home"), Stage(on=NEXT_YEAR))
    first, second = plan(catalog, "spacer-ring", stages=home_then_shop, found=bike_now).visits
    assert first.is_empty
    assert [x.amplifier for x in second.presets] == [one("fulmar@tray")]
