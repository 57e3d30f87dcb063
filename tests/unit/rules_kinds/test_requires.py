"""Requires and flash_needed: a part that needs another."""

from __future__ import annotations

import pytest

from rules.catalog.rule import FlashNeeded, Requires
from rules.kinds import requires
from rules.verdict import Verdict
from tests.unit.catalogs import (
    all_of_kind,
    as_found,
    bike,
    bike_is,
    fit,
    flash,
    one,
    only,
    part,
    placed,
    ring,
    rule,
    scene,
    shop,
    speaker,
)


def needs_ring(**more):
    return rule(Requires, "needs_ring", **{"subject": only("petrel"), "needs": all_of_kind("ring"), **more})


def test_a_part_that_needs_another_fits_with_it():
    answer = fit(shop(speaker(), ring(at=("pods",)), needs_ring()), "petrel", "pods")
    assert (answer.verdict, answer.extras) == (Verdict.FITS_WITH, (one("spacer-ring@pods"),))


def test_a_part_that_needs_another_fits_where_it_is_already():
    found = as_found("spacer-ring@pods")
    assert fit(shop(speaker(), ring(), needs_ring()), "petrel", "pods", found=found).verdict is Verdict.FITS


def test_a_part_does_not_fit_where_what_it_needs_is_not_sold():
    answer = fit(shop(speaker(), ring(stock_only=True), needs_ring()), "petrel", "pods")
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert [x.rule for x in answer.findings] == ["needs_ring"]


@pytest.mark.parametrize(("same_place", "verdict"), [(False, Verdict.FITS), (True, Verdict.DOES_NOT_FIT)])
def test_a_companion_elsewhere_counts_only_if_the_rule_lets_it(same_place, verdict):
    catalog = shop(speaker(), ring(at=("rears",), stock_only=True), needs_ring(same_place=same_place))
    assert fit(catalog, "petrel", "pods", found=as_found("spacer-ring@rears")).verdict == verdict


def test_a_part_is_not_its_own_companion():
    selfish = rule(Requires, "selfish", subject=only("petrel"), needs=all_of_kind("speaker", "pods"))
    (finding,) = requires.check(selfish, scene(shop(speaker(), selfish), "petrel@pods"), one("petrel@pods"))
    assert one("petrel@pods") not in finding.repairs


def test_an_unknown_condition_leaves_a_need_open_until_the_companion_is_there():
    unsure = needs_ring(when=bike_is("pod_series", "b"))
    without = shop(speaker(), ring(stock_only=True), unsure)
    assert fit(without, "petrel", "pods").verdict is Verdict.NOT_VERIFIED
    assert fit(without, "petrel", "pods", found=as_found("spacer-ring@pods")).verdict is Verdict.FITS


def test_a_need_on_other_bikes_is_not_asked():
    catalog = shop(speaker(), needs_ring(when=bike_is("mount", "fork")))
    assert fit(catalog, "petrel", "pods").verdict is Verdict.FITS


def needs_flash(**more):
    selectors = {"subject": all_of_kind("head_unit"), "needs": only("rear-flash")}
    return rule(FlashNeeded, "needs_flash", **{**selectors, **more})


def test_a_radio_that_needs_a_flash_gets_it_from_any_part_that_asks():
    when = bike_is("rear_locked", value=True)
    catalog = shop(speaker(), flash(), needs_flash(when=when), on=bike(facts={"rear_locked": True}))
    assert fit(catalog, "petrel", "rears").extras == (one("rear-flash@dash"),)


def test_a_flash_that_nobody_sells_refuses():
    catalog = shop(speaker(), flash(stock_only=True), needs_flash())
    assert fit(catalog, "petrel", "rears").verdict is Verdict.DOES_NOT_FIT


def test_a_flash_lies_with_its_radio():
    box = part("box", "hardware", "lead", at=("tray",), tags=("flat",))
    law = rule(FlashNeeded, "needs_flash", subject=all_of_kind("head_unit"), needs=only("box"))
    (finding,) = requires.check(
        law, scene(shop(box, law), "works-radio@dash", "box@tray"), one("works-radio@dash")
    )
    assert finding.repairs == placed()


def test_a_flash_is_left_open_where_nobody_knows_whether_the_radio_needs_it():
    catalog = shop(speaker(), flash(stock_only=True), needs_flash(when=bike_is("rear_locked", value=True)))
    assert fit(catalog, "petrel", "rears").verdict is Verdict.NOT_VERIFIED
