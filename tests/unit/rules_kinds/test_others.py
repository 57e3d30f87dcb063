"""Holds, preset chains and advice."""

from __future__ import annotations

from datetime import date

import pytest

from rules.catalog.rule import Advice, Hold, PresetChain
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    all_of_kind,
    amplifier,
    as_found,
    bike,
    bike_is,
    fit,
    harness,
    only,
    power_kit,
    preset,
    rule,
    shop,
    speaker,
)


@pytest.mark.parametrize(
    ("on", "verdict"),
    [
        (date(2030, 5, 9), Verdict.FITS),
        (date(2030, 5, 10), Verdict.DOES_NOT_FIT),
        (date(2030, 5, 20), Verdict.DOES_NOT_FIT),
        (date(2030, 5, 21), Verdict.FITS),
    ],
)
def test_a_hold_stops_a_part_from_its_first_day_to_its_last(on, verdict):
    held = rule(Hold, "recalled", subject=only("petrel"), first=date(2030, 5, 10), last=date(2030, 5, 20))
    answer = fit(shop(speaker(), held), "petrel", "pods", on=on)
    assert answer.verdict is verdict
    assert [x.rule for x in answer.findings] == (["recalled"] if verdict is Verdict.DOES_NOT_FIT else [])


def test_a_hold_without_an_end_lasts():
    held = rule(Hold, "recalled", subject=only("petrel"), first=date(2030, 1, 1))
    assert fit(shop(speaker(), held), "petrel", "pods", on=date(2030, 12, 31)).verdict is Verdict.DOES_NOT_FIT


def test_a_part_that_is_fitted_already_is_not_touched_by_a_hold():
    held = rule(Hold, "recalled", subject=only("petrel"), first=date(2030, 1, 1))
    found = as_found("petrel@rears")
    assert fit(shop(speaker(), held), "petrel", "rears", found=found).verdict is Verdict.FITS


def test_a_part_on_hold_is_no_extra():
    held = rule(Hold, "recalled", subject=only("power-kit"), first=date(2030, 1, 1))
    assert fit(shop(amplifier(), harness(), power_kit(), held), "fulmar").verdict is Verdict.DOES_NOT_FIT


CHAIN = rule(PresetChain, "chain_needs_preset", subject=all_of_kind("amplifier"))
SYSTEM = (amplifier(), harness(), power_kit())


def test_an_amplifier_in_a_chain_fits_with_a_preset():
    answer = fit(shop(*SYSTEM, preset(), CHAIN), "fulmar")
    assert answer.verdict is Verdict.FITS_WITH
    assert [(x.amplifier.part, x.service) for x in answer.presets] == [("fulmar", "bench-preset")]


def test_an_amplifier_in_a_chain_is_refused_where_nobody_makes_its_preset():
    answer = fit(shop(*SYSTEM, CHAIN), "fulmar")
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert "preset_not_offered" in {x.rule for x in answer.findings}


def advice(**more):
    return rule(Advice, "mind_the_lid", subject=only("petrel"), **more)


@pytest.mark.parametrize(("series", "told"), [("b", True), ("a", False), (UNKNOWN, False)])
def test_advice_is_given_where_its_condition_is_known_to_hold_and_never_refuses(series, told):
    catalog = shop(speaker(), advice(when=bike_is("series", "b")), on=bike(facts={"series": series}))
    answer = fit(catalog, "petrel", "pods")
    assert answer.verdict is Verdict.FITS
    assert [(x.rule, x.status) for x in answer.advice] == ([("mind_the_lid", Status.ADVICE)] if told else [])


def test_advice_on_parts_that_were_there_before_is_not_repeated():
    catalog = shop(speaker(), speaker("tern"), advice())
    assert not fit(catalog, "tern", "pods", found=as_found("petrel@rears")).advice
