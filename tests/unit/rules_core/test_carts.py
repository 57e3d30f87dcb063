"""Carts, and what goes on to the next bike."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rules.catalog.bike import BikePlace
from rules.catalog.catalog import Ambiguous
from rules.catalog.rule import Clearance, Excludes
from rules.engine import Engine
from rules.errors import UnknownBike, UnknownPart, UnknownPlace
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, Want
from rules.verdict import Verdict
from tests.unit.catalogs import (
    DAY,
    UNKNOWN,
    adapter,
    all_of_kind,
    amplifier,
    as_found,
    bike,
    fit,
    harness,
    only,
    placed,
    power_kit,
    rule,
    shop,
    speaker,
)


def cart(catalog, *wants, **more):
    wanted = tuple(Want(parts=(x,)) if isinstance(x, str) else x for x in wants)
    return Engine(catalog).cart(CartQuestion(bike=min(catalog.bikes), wants=wanted, on=DAY, **more))


def test_a_complete_cart_fits():
    answer = cart(shop(amplifier(), harness(), power_kit()), "fulmar", "front-harness", "power-kit")
    assert (answer.verdict, answer.total) == (Verdict.FITS, 3000)


def test_a_cart_that_lacks_something_is_completed_at_the_least_price():
    goods = (amplifier(), harness(), power_kit(), power_kit("dear-kit"))
    answer = cart(shop(*goods, price={"dear-kit": 2000}), "fulmar", "front-harness")
    assert answer.verdict is Verdict.FITS_WITH
    assert frozenset(answer.extras) == placed("power-kit@battery")


def test_a_cart_is_spread_over_the_places_that_take_it():
    answer = cart(shop(speaker(), speaker("tern", at=("pods",))), "petrel", "tern")
    assert (answer.verdict, frozenset(answer.placed)) == (Verdict.FITS, placed("petrel@rears", "tern@pods"))


def test_parts_that_exclude_each_other_make_no_cart():
    clash = rule(Excludes, subject=only("petrel"), together_with=only("tern"))
    wants = (Want(parts=("petrel",), place="pods"), Want(parts=("tern",), place="rears"))
    answer = cart(shop(speaker(), speaker("tern"), clash), *wants)
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert {x.rule for x in answer.findings} == {"the_rule"}


def test_two_parts_for_one_slot_make_no_cart():
    answer = cart(shop(speaker(at=("pods",)), speaker("tern", at=("pods",))), "petrel", "tern")
    assert answer.verdict is Verdict.DOES_NOT_FIT


def test_a_cart_with_a_part_for_other_bikes_names_it():
    answer = cart(shop(speaker(at=("battery",))), "petrel")
    assert [x.rule for x in answer.findings] == ["no_place_for_it"]


def test_a_part_asked_for_twice_at_one_place_is_one_too_many():
    want = Want(parts=("petrel",), place="pods")
    answer = cart(shop(speaker()), want, want)
    assert (answer.verdict, [finding.rule for finding in answer.findings]) == (
        Verdict.DOES_NOT_FIT,
        ["slot_taken"],
    )


@pytest.mark.parametrize(
    ("wants", "error"),
    [((Want(parts=("gannet",)),), UnknownPart), ((Want(parts=("petrel",), place="attic"),), UnknownPlace)],
)
def test_a_cart_with_a_name_that_nobody_knows_is_an_error(wants, error):
    with pytest.raises(error):
        cart(shop(speaker()), *wants)


# The next bike ---------------------------------------------------------------------------------------

DEEP = rule(
    Clearance,
    subject=all_of_kind("speaker"),
    spec="depth_mm",
    relation="at_most",
    geometry="depth_mm",
)


def two_bikes(*goods, **places):
    """Give a shop with a second bike whose places differ."""
    catalog = shop(*goods, on=bike(rears=BikePlace(geometry={"depth_mm": 60.0})))
    there = bike("dunlin", **{"rears": BikePlace(geometry={"depth_mm": 60.0}), **places})
    return replace(catalog, bikes={**catalog.bikes, "dunlin": there})


def carried(catalog, *fitted, to="dunlin"):
    question = CarryOverQuestion(bike="curlew", next_bike=to, on=DAY, found=as_found(*fitted))
    return {x.part: x for x in Engine(catalog).carry_over(question).parts}


def test_a_pair_goes_on_as_it_is_where_it_fits():
    found = carried(two_bikes(speaker(), DEEP), "petrel@rears")["petrel"]
    assert (found.answer, found.to_place) == ("as_is", "rears")


def test_a_pair_goes_on_to_another_place_where_its_old_one_is_too_shallow():
    catalog = two_bikes(speaker(), DEEP, rears=BikePlace(geometry={"depth_mm": 40.0}))
    assert carried(catalog, "petrel@rears")["petrel"].to_place == "pods"


def test_a_pair_goes_on_as_it_is_with_the_adapter_that_the_rider_has():
    found = carried(two_bikes(speaker(plug="blade"), adapter()), "petrel@rears", "blade-adapter@rears")
    assert [(x.answer, x.extras) for x in found.values()] == [("as_is", ()), ("as_is", ())]


@pytest.mark.parametrize(("depth", "answer"), [(40.0, "no"), (UNKNOWN, "not_verified")])
def test_a_pair_that_fits_nowhere_or_perhaps_is_said_so(depth, answer):
    shallow = BikePlace(geometry={"depth_mm": depth})
    catalog = two_bikes(speaker(), DEEP, rears=shallow, pods=shallow)
    assert carried(catalog, "petrel@rears")["petrel"].answer == answer


def test_a_part_without_a_place_on_the_next_bike_stays_behind():
    catalog = two_bikes(speaker(at=("rears",)))
    there = catalog.bikes["dunlin"]
    places = {name: place for name, place in there.has.places.items() if name != "rears"}
    bare = replace(there, has=there.has.model_copy(update={"places": places}))
    catalog = replace(catalog, bikes={**catalog.bikes, "dunlin": bare})
    found = carried(catalog, "petrel@rears")["petrel"]
    assert (found.answer, found.to_place) == ("no", None)


def test_stock_parts_are_not_carried_over():
    assert carried(two_bikes(speaker()), "petrel@rears").keys() == {"petrel"}


# A name that stands for two bikes ---------------------------------------------------------------------------


def split(*goods, **places):
    """Give a shop in which `curlews` stands for the two bikes."""
    catalog = two_bikes(*goods, **places)
    both = Ambiguous(id="curlews", sides=("curlew", "dunlin"), ask="Built before April?")
    return replace(catalog, ambiguous={"curlews": both})


def test_where_both_sides_agree_there_is_nothing_to_ask():
    answer = fit(split(speaker(), DEEP), "petrel", "rears", bike="curlews")
    assert (answer.verdict, answer.bike, answer.ask) == (Verdict.FITS, "curlews", "")


def test_where_the_sides_differ_the_rider_is_asked():
    shallow = BikePlace(geometry={"depth_mm": 40.0})
    catalog = split(speaker(), DEEP, rears=shallow)
    answer = fit(catalog, "petrel", "rears", bike="curlews")
    assert (answer.verdict, answer.ask) == (Verdict.NOT_VERIFIED, "Built before April?")
    question = CartQuestion(bike="curlews", wants=(Want(parts=("petrel",), place="rears"),), on=DAY)
    assert Engine(catalog).cart(question).ask == "Built before April?"
    question_on = CarryOverQuestion(
        bike="curlew", next_bike="curlews", on=DAY, found=as_found("petrel@rears")
    )
    assert Engine(catalog).carry_over(question_on).ask == "Built before April?"


def test_a_bike_that_nobody_knows_is_an_error():
    with pytest.raises(UnknownBike):
        Engine(shop()).fit(FitQuestion(bike="gannet", part="works-pods", on=DAY))


def test_lists_of_what_fits_cover_all_that_is_sold_and_every_bike():
    engine = Engine(two_bikes(speaker(), amplifier(), harness(), power_kit()))
    sold = engine.fitting_parts("curlew", DAY)
    assert [x.part for x in sold] == ["front-harness", "fulmar", "petrel", "power-kit"]
    assert {x.bike: x.verdict for x in engine.fitting_bikes("petrel", DAY)} == {
        "curlew": Verdict.FITS,
        "dunlin": Verdict.FITS,
    }
