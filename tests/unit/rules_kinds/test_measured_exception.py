"""Measured exceptions: a rule does not refuse there, or it does, whatever it says."""

from __future__ import annotations

import pytest

from rules.catalog.rule import Clearance, MeasuredException
from rules.scene import Scene
from rules.things import check_placement
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    MEASURED,
    UNKNOWN,
    all_of_kind,
    bench,
    bike,
    bike_is,
    fit,
    one,
    only,
    placed,
    rule,
    shop,
    speaker,
)

DEEP = rule(
    Clearance,
    "too_deep",
    subject=all_of_kind("speaker", "pods"),
    spec="depth_mm",
    relation="at_most",
    geometry="depth_mm",
)


def exception(outcome, **more):
    return rule(
        MeasuredException,
        "tried_on_the_bike",
        overrides="too_deep",
        subject=only("petrel"),
        outcome=outcome,
        source=MEASURED,
        **more,
    )


def asked(depth, law, **facts):
    return fit(shop(speaker(spec={"depth_mm": depth}), DEEP, law, on=bike(facts=facts)), "petrel", "pods")


@pytest.mark.parametrize("depth", [60.1, 99.0, UNKNOWN])
def test_a_part_that_was_tried_fits_whatever_the_rule_says(depth):
    assert asked(depth, exception("allow")).verdict is Verdict.FITS


def test_a_part_that_was_tried_and_did_not_go_in_is_refused_by_the_exception():
    answer = asked(50.0, exception("refuse"))
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert [x.rule for x in answer.findings] == ["tried_on_the_bike"]


@pytest.mark.parametrize(
    ("series", "allowed", "refused"),
    [
        ("b", Verdict.FITS, Verdict.DOES_NOT_FIT),
        ("a", Verdict.DOES_NOT_FIT, Verdict.FITS),
        (UNKNOWN, Verdict.NOT_VERIFIED, Verdict.NOT_VERIFIED),
    ],
)
def test_an_exception_holds_for_the_bikes_that_it_names(series, allowed, refused):
    when = bike_is("series", "b")
    assert asked(60.1, exception("allow", when=when), series=series).verdict is allowed
    assert asked(50.0, exception("refuse", when=when), series=series).verdict is refused


def test_an_exception_for_one_part_is_none_for_another():
    other = speaker("tern", spec={"depth_mm": 61.0})
    assert (
        fit(shop(other, speaker(), DEEP, exception("allow")), "tern", "pods").verdict is Verdict.DOES_NOT_FIT
    )


def test_what_the_rule_refuses_anyway_stays_refused_where_the_exception_is_unknown():
    law = exception("refuse", when=bike_is("series", "b"))
    assert asked(99.0, law, series=UNKNOWN).verdict is Verdict.DOES_NOT_FIT


def test_facts_that_rule_an_exception_out_are_named_as_causes():
    law = exception("allow", when=bike_is("series", "b"))
    catalog = shop(speaker(spec={"depth_mm": 61.0}), DEEP, law, on=bike(facts={"series": "a"}))
    here = Scene(bench(catalog), placed("petrel@pods"))
    (finding,) = check_placement(here, one("petrel@pods"))
    assert finding.status is Status.REFUSED
    assert "facts.series" in {x.fact for x in finding.causes}
