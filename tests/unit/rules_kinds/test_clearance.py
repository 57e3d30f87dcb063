"""Clearance: a dimension of a part against its place."""

from __future__ import annotations

import pytest

from rules.catalog.bike import BikePlace
from rules.catalog.rule import Clearance
from rules.kinds import clearance
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    all_of_kind,
    as_found,
    bike,
    bike_is,
    fit,
    one,
    placed,
    ring,
    rule,
    scene,
    shop,
    speaker,
)

DEEP = {
    "subject": all_of_kind("speaker", "pods"),
    "spec": "depth_mm",
    "relation": "at_most",
    "geometry": "depth_mm",
}


def too_deep(**more):
    return rule(Clearance, "too_deep", **{**DEEP, **more})


def deep(depth):
    return speaker(spec={"depth_mm": depth})


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [
        (59.9, Verdict.FITS),
        (60.0, Verdict.FITS),
        (60.1, Verdict.DOES_NOT_FIT),
        (UNKNOWN, Verdict.NOT_VERIFIED),
    ],
)
def test_a_speaker_may_be_as_deep_as_its_pod_and_no_deeper(depth, verdict):
    assert fit(shop(deep(depth), too_deep()), "petrel", "pods").verdict == verdict


@pytest.mark.parametrize(("depth", "verdict"), [(58.0, Verdict.FITS), (58.1, Verdict.DOES_NOT_FIT)])
def test_the_margin_must_stay_free(depth, verdict):
    assert fit(shop(deep(depth), too_deep(margin=2.0)), "petrel", "pods").verdict == verdict


@pytest.mark.parametrize(("size", "verdict"), [(60.0, Verdict.FITS), (59.9, Verdict.DOES_NOT_FIT)])
def test_at_least_asks_for_a_part_that_covers_its_place(size, verdict):
    assert fit(shop(deep(size), too_deep(relation="at_least")), "petrel", "pods").verdict == verdict


@pytest.mark.parametrize(
    ("size", "verdict"),
    [(58.0, Verdict.FITS), (62.0, Verdict.FITS), (57.9, Verdict.DOES_NOT_FIT), (62.1, Verdict.DOES_NOT_FIT)],
)
def test_equals_allows_the_margin_on_both_sides(size, verdict):
    assert fit(shop(deep(size), too_deep(relation="equals", margin=2.0)), "petrel", "pods").verdict == verdict


def test_tenths_of_a_millimetre_add_up_without_binary_dust():
    catalog = shop(speaker(spec={"depth_mm": 59.7}), too_deep(margin=0.3))
    assert fit(catalog, "petrel", "pods").verdict is Verdict.FITS


def test_a_place_that_nobody_measured_leaves_it_open_and_says_what_to_measure():
    answer = fit(shop(speaker(), too_deep(), on=bike(geometry={"depth_mm": UNKNOWN})), "petrel", "pods")
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert [(x.fact, x.of) for x in answer.missing] == [("places.pods.geometry.depth_mm", "pods")]


def test_a_dimension_that_is_not_recorded_at_all_leaves_it_open():
    assert (
        fit(shop(speaker(), too_deep(), on=bike(geometry={})), "petrel", "pods").verdict
        is Verdict.NOT_VERIFIED
    )


def test_a_measurement_on_this_bike_replaces_the_recorded_depth():
    found = as_found(measured={"places.pods.geometry.depth_mm": 49.9})
    answer = fit(shop(speaker(), too_deep()), "petrel", "pods", found=found)
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert answer.findings[0].causes[1].source.ref == "Runa"


RELIEVED = {"relieved_by_slot": "ring", "relieved_by_spec": "height_mm"}


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [(60.0, Verdict.FITS), (66.0, Verdict.FITS_WITH), (66.1, Verdict.DOES_NOT_FIT)],
)
def test_a_ring_gives_room_by_its_height(depth, verdict):
    answer = fit(shop(deep(depth), ring(at=("pods",)), too_deep(**RELIEVED)), "petrel", "pods")
    assert answer.verdict == verdict
    assert answer.extras == ((one("spacer-ring@pods"),) if verdict is Verdict.FITS_WITH else ())


def test_a_ring_of_unknown_height_leaves_it_open():
    catalog = shop(deep(63.0), ring(height=UNKNOWN), too_deep(**RELIEVED))
    assert fit(catalog, "petrel", "pods").verdict is Verdict.NOT_VERIFIED


def test_what_left_the_works_there_is_not_asked():
    works = shop(too_deep(margin=50.0))
    assert not list(
        clearance.check(too_deep(margin=50.0), scene(works, "works-pods@pods"), one("works-pods@pods"))
    )


def test_a_rule_for_other_bikes_is_not_asked():
    catalog = shop(deep(90.0), too_deep(when=bike_is("cooling", "liquid")))
    assert fit(catalog, "petrel", "pods").verdict is Verdict.FITS


def test_a_rule_whose_condition_is_unknown_leaves_open_what_it_would_refuse_and_nothing_else():
    when = bike_is("pod_series", "b")
    assert fit(shop(deep(90.0), too_deep(when=when)), "petrel", "pods").verdict is Verdict.NOT_VERIFIED
    assert fit(shop(deep(50.0), too_deep(when=when)), "petrel", "pods").verdict is Verdict.FITS


def test_a_refusal_keeps_its_calculation_and_names_both_dimensions():
    here = scene(shop(deep(63.0), too_deep(margin=1.0)), "petrel@pods")
    (finding,) = clearance.check(too_deep(margin=1.0), here, one("petrel@pods"))
    assert (finding.status, finding.present) == (Status.REFUSED, placed("petrel@pods"))
    assert [x.fact for x in finding.causes] == ["part.depth_mm", "places.pods.geometry.depth_mm"]
    assert finding.calculation is not None
    assert (finding.calculation.result, finding.calculation.limit) == (63.0, 60.0)


def test_a_place_without_the_rule_s_dimension_in_another_zone_is_not_asked():
    catalog = shop(deep(90.0), too_deep(), on=bike(rears=BikePlace(geometry={"depth_mm": 40.0})))
    assert fit(catalog, "petrel", "rears").verdict is Verdict.FITS
