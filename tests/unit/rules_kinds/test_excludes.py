"""Excludes: a part that may not be fitted, with another or under a condition."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rules.catalog.condition import Comparison, Not
from rules.catalog.rule import Excludes
from rules.kinds import excludes
from rules.verdict import Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    all_of_kind,
    as_found,
    bike,
    bike_is,
    fit,
    fitted,
    one,
    only,
    placed,
    ring,
    rule,
    scene,
    shop,
    speaker,
)


def not_with_ring(**more):
    return rule(
        Excludes, "not_with_ring", **{"subject": only("petrel"), "together_with": only("spacer-ring"), **more}
    )


def test_two_parts_that_exclude_each_other_are_refused_together():
    answer = fit(
        shop(speaker(), ring(), not_with_ring()), "petrel", "pods", found=as_found("spacer-ring@pods")
    )
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert answer.findings[0].present == placed("petrel@pods", "spacer-ring@pods")


def test_a_part_fits_while_the_other_is_not_there():
    assert fit(shop(speaker(), ring(), not_with_ring()), "petrel", "pods").verdict is Verdict.FITS


@pytest.mark.parametrize(("same_place", "verdict"), [(True, Verdict.FITS), (False, Verdict.DOES_NOT_FIT)])
def test_an_exclusion_may_be_limited_to_one_place(same_place, verdict):
    catalog = shop(speaker(), ring(), not_with_ring(same_place=same_place))
    assert fit(catalog, "petrel", "pods", found=as_found("spacer-ring@rears")).verdict == verdict


@pytest.mark.parametrize(("year", "verdict"), [(2029, Verdict.DOES_NOT_FIT), (2030, Verdict.FITS)])
def test_a_condition_alone_may_exclude_and_its_threshold_belongs_to_it(year, verdict):
    old = rule(Excludes, subject=only("petrel"), when=Comparison(fact="bike.year", at_most=2029.0))
    assert fit(shop(speaker(), old, on=replace(bike(), year=year)), "petrel", "pods").verdict == verdict


@pytest.mark.parametrize("facts", [{}, {"pod_series": UNKNOWN}])
def test_an_exclusion_is_left_open_where_its_condition_is_unknown(facts):
    catalog = shop(
        speaker(),
        rule(Excludes, subject=only("petrel"), when=bike_is("pod_series", "b")),
        on=bike(facts=facts),
    )
    answer = fit(catalog, "petrel", "pods")
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert [x.fact.rpartition(".")[2] for x in answer.missing] == ["pod_series"]


def test_an_exclusion_that_another_part_lifts_names_it_as_repair():
    unless = rule(Excludes, subject=only("petrel"), when=Not(not_=fitted("spacer-ring", same_place=True)))
    catalog = shop(speaker(), ring(), unless)
    (finding,) = excludes.check(unless, scene(catalog, "petrel@pods"), one("petrel@pods"))
    assert finding.repairs == placed("spacer-ring@pods")
    assert fit(catalog, "petrel", "pods").extras == (one("spacer-ring@pods"),)


def test_an_exclusion_that_another_part_brings_about_names_it_as_present():
    beside = rule(Excludes, subject=only("petrel"), when=fitted("spacer-ring"))
    here = scene(shop(speaker(), ring(), beside), "petrel@pods", "spacer-ring@rears")
    (finding,) = excludes.check(beside, here, one("petrel@pods"))
    assert finding.present == placed("petrel@pods", "spacer-ring@rears")


def test_each_part_that_is_in_the_way_is_told():
    crowd = rule(Excludes, subject=only("petrel"), together_with=all_of_kind("ring"))
    here = scene(
        shop(speaker(), ring(), ring("tall-ring"), crowd),
        "petrel@pods",
        "spacer-ring@pods",
        "tall-ring@rears",
    )
    assert len(list(excludes.check(crowd, here, one("petrel@pods")))) == 2
