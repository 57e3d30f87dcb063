"""What is said of a rider's bike must hold together, or the place that does not is named."""

from __future__ import annotations

import pytest

from rules.errors import MalformedQuestion, UnknownPart, UnknownPlace
from tests.unit.catalogs import amplifier, as_found, fit, one, ring, shop, speaker

CATALOG = shop(ring(), speaker(), amplifier())
WORKS_PODS = one("works-pods@pods")


@pytest.mark.parametrize(
    ("found", "field"),
    [
        (as_found(removed=(WORKS_PODS, one("petrel@pods"))), "found.removed.1"),
        (as_found(removed=(one("works-pods@rears"),)), "found.removed.0"),
        (as_found(presets=("fulmar",)), "found.presets.0"),
        (as_found("fulmar@tray", presets=("fulmar", "works-radio")), "found.presets.1"),
        (as_found("spacer-ring@pods", "spacer-ring@pods"), "found.fitted.1"),
        (as_found("works-pods@pods", removed=(WORKS_PODS,)), "found.fitted.0"),
        (as_found("spacer-ring@dash"), "found.fitted.0"),
        (as_found("petrel@rears", "spacer-ring@dash"), "found.fitted.1"),
    ],
)
def test_a_contradiction_is_told_at_its_place_with_a_cure(found, field):
    with pytest.raises(MalformedQuestion) as caught:
        fit(CATALOG, "spacer-ring", "rears", found=found)
    assert caught.value.field == field
    assert caught.value.cure


def test_the_first_in_order_is_told_where_the_order_of_the_question_is_not_known():
    found = as_found(removed=frozenset({one("petrel@pods"), WORKS_PODS}))
    with pytest.raises(MalformedQuestion) as caught:
        fit(CATALOG, "spacer-ring", "rears", found=found)
    assert caught.value.field == "found.removed.0"


def test_names_are_looked_up_before_anything_else_is_said():
    with pytest.raises(UnknownPart):
        fit(CATALOG, "spacer-ring", "rears", found=as_found(removed=(one("works-pod@pods"),)))
    with pytest.raises(UnknownPlace):
        fit(CATALOG, "spacer-ring", "rears", found=as_found("petrel@rear"))


def test_stock_amplifiers_and_fitted_ones_may_have_a_preset_in_force():
    fit(CATALOG, "spacer-ring", "rears", found=as_found("fulmar@tray", presets=("fulmar",)))
