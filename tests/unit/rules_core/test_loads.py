"""Loads added up are within limits only if the masses are."""

from __future__ import annotations

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from rules.columns import Columns
from rules.loads import Limit, Loads

PLACES = ("dash", "fairing_pods", "top_box")
masses_kg = st.floats(0, 40)

Parts = Sequence[tuple[str, float | None]]


def are_within(limits: Sequence[Limit] | None, parts: Parts) -> bool:
    """Tell whether parts at their places are surely within limits."""
    columns = Columns()
    loads = Loads(limits, columns)
    return not (sum(loads.of(*part) for part in parts) + columns.slack) & loads.over


@given(
    st.lists(st.tuples(st.frozensets(st.sampled_from(PLACES)), masses_kg), max_size=4),
    st.lists(st.tuples(st.sampled_from(PLACES), masses_kg), max_size=8),
)
def test_a_build_that_breaks_a_limit_is_never_within_it(limits, parts):
    sums = [(sum(mass for place, mass in parts if place in places), most) for places, most in limits]
    if are_within(limits, parts):
        assert all(total < most for total, most in sums)
    elif sums:
        # A gram a part is all that is lost to rounding up.
        assert any(total > most - 0.011 for total, most in sums)


def test_without_limits_everything_is_within_them():
    assert are_within([], [("dash", 500.0)])


def test_a_part_of_unknown_mass_is_within_no_limit():
    limits = [(frozenset(PLACES), 100.0)]
    for pieces in range(1, 6):
        assert not are_within(limits, [*[("dash", None)] * pieces, ("dash", 1.0)])


def test_nothing_is_within_limits_that_nobody_knows():
    assert not are_within(None, [("dash", 1.0)])
