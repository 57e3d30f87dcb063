"""Loads added up are within limits only if the masses are."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rules.loads import Loads

PLACES = ("dash", "fairing_pods", "top_box")
masses_kg = st.floats(0, 40)


@given(
    st.lists(st.tuples(st.frozensets(st.sampled_from(PLACES)), masses_kg), max_size=4),
    st.lists(st.tuples(st.sampled_from(PLACES), masses_kg), max_size=8),
)
def test_a_build_that_breaks_a_limit_is_never_within_it(limits, parts):
    loads = Loads(limits)
    are_within = loads.are_within(sum(loads.of(*part) for part in parts))
    sums = [(sum(mass for place, mass in parts if place in places), most) for places, most in limits]
    if are_within:
        assert all(total < most for total, most in sums)
    elif sums:
        # A gram a part is all that is lost to rounding up.
        assert any(total > most - 0.011 for total, most in sums)


def test_without_limits_everything_is_within_them():
    assert Loads([]).are_within(Loads([]).of("dash", 500.0))


def test_a_part_of_unknown_mass_is_within_no_limit():
    loads = Loads([(frozenset(PLACES), 100.0)])
    for pieces in range(1, 6):
        assert not loads.are_within(pieces * loads.of("dash", None) + loads.of("dash", 1.0))


def test_nothing_is_within_limits_that_nobody_knows():
    assert not Loads(None).are_within(Loads(None).of("dash", 1.0))
