"""Which presets are in force, which are void, and which have to be made."""

from __future__ import annotations

import pytest

from rules.catalog.facts import DateSpan
from rules.catalog.rule import PresetChain
from rules.chain import in_force_as_found, presets_to_make
from rules.electrics import check_electrics
from rules.verdict import Verdict
from tests.unit.catalogs import (
    NEXT_YEAR,
    all_of_kind,
    amplifier,
    as_found,
    bench,
    fit,
    flash,
    harness,
    one,
    placed,
    power_kit,
    preset,
    radio,
    ring,
    rule,
    shop,
    speaker,
    with_stock,
)

CHAIN = rule(PresetChain, "chain", subject=all_of_kind("amplifier"))
SYSTEM = ("fulmar@tray", "front-harness@dash", "power-kit@battery")
FOUND = as_found(*SYSTEM, presets=frozenset({"fulmar"}))


def catalog():
    goods = (amplifier(), harness(), power_kit(), preset(amplifiers=("fulmar", "skua")), CHAIN)
    return shop(*goods, speaker(), radio("new-radio"), flash(), ring(), amplifier("skua"))


def to_make(found, build):
    """Give the amplifiers that need a preset made in the step from the bike as found to a build."""
    here = bench(catalog(), found)
    before, after = check_electrics(here, here.present).options[0], check_electrics(here, build).options[0]
    made, _ = presets_to_make(here, build, after, in_force_as_found(here, before))
    return made


def test_a_preset_in_force_stays_in_force_while_nothing_in_its_chain_changes():
    assert not to_make(FOUND, with_stock(*SYSTEM))
    assert not to_make(FOUND, with_stock(*SYSTEM, "spacer-ring@pods"))


def test_an_amplifier_whose_preset_is_not_on_record_needs_one():
    assert to_make(as_found(*SYSTEM), with_stock(*SYSTEM)) == placed("fulmar@tray")


@pytest.mark.parametrize(
    ("build", "why"),
    [
        (placed("new-radio@dash", "works-pods@pods", *SYSTEM), "another radio"),
        (with_stock("rear-flash@dash", *SYSTEM), "a flash of the radio"),
        (placed("works-radio@dash", "petrel@pods", *SYSTEM), "other speakers on the amplifier"),
    ],
)
def test_a_change_in_the_chain_voids_the_preset(build, why):
    assert to_make(FOUND, build) == placed("fulmar@tray"), why


def test_speakers_that_the_amplifier_does_not_feed_are_not_in_its_chain():
    assert not to_make(FOUND, with_stock("petrel@rears", *SYSTEM))


def test_a_preset_is_made_for_one_amplifier_and_no_other_like_it():
    swapped = with_stock("skua@tray", "front-harness@dash", "power-kit@battery")
    assert to_make(FOUND, swapped) == placed("skua@tray")


def test_a_preset_that_was_made_is_in_force_from_then_on():
    here = bench(catalog(), as_found(*SYSTEM))
    option = check_electrics(here, here.present).options[0]
    made, in_force = presets_to_make(here, here.present, option, frozenset())
    assert made == placed("fulmar@tray")
    assert presets_to_make(here, here.present, option, in_force) == (frozenset(), in_force)


def test_new_speakers_on_an_amplifier_are_quoted_with_a_new_preset():
    answer = fit(catalog(), "petrel", "pods", found=FOUND)
    assert answer.verdict is Verdict.FITS_WITH
    assert [x.amplifier for x in answer.presets] == [one("fulmar@tray")]


def test_a_fitted_amplifier_without_its_preset_is_refused_on_a_day_on_which_nobody_makes_one():
    late = preset(available=DateSpan(first=NEXT_YEAR, last=NEXT_YEAR))
    catalog = shop(amplifier(), harness(), power_kit(), late, CHAIN)
    answer = fit(catalog, "front-harness", found=as_found(*SYSTEM))
    assert answer.verdict == "does_not_fit"
    assert [x.rule for x in answer.findings] == ["preset_not_offered"]
    assert fit(catalog, "front-harness", found=FOUND).verdict == "fits"
