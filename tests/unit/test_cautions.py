"""Every result says what could hurt somebody, and every caution is said somewhere."""

from __future__ import annotations

import pytest

from rules.calculations.registry import CALCULATIONS
from rules.cautions import BY_ID, CAUTIONS, cautions_of

ELSEWHERE = {
    "water": "nothing is calculated from a rating against water; it belongs beside the rating of a part"
}
"""Cautions that no calculation carries, each with the reason."""


@pytest.mark.parametrize("calculation", CALCULATIONS.values(), ids=lambda x: x.id)
def test_every_calculation_names_cautions_that_exist_and_that_it_is_an_estimate(calculation):
    assert set(calculation.cautions) <= BY_ID.keys()
    assert "estimate" in calculation.cautions
    assert len(set(calculation.cautions)) == len(calculation.cautions)


def test_every_caution_is_used_or_listed_with_the_reason():
    used = {x for calculation in CALCULATIONS.values() for x in calculation.cautions}
    assert {x.id for x in CAUTIONS} - used == set(ELSEWHERE)


def test_no_two_cautions_share_an_id_and_each_has_words_and_a_source():
    assert len(BY_ID) == len(CAUTIONS)
    for caution in CAUTIONS:
        assert caution.text.endswith(".")
        assert caution.when
        assert caution.source


def test_cautions_come_in_the_order_asked_for():
    assert [x.id for x in cautions_of(("wind", "estimate"))] == ["wind", "estimate"]


def test_a_level_at_the_ear_is_never_told_without_the_caution_for_ears():
    for calculation in CALCULATIONS.values():
        if any(x.unit == "dBA" for x in calculation.outputs):
            assert "hearing" in calculation.cautions, calculation.id
