"""Loads and losses move the way that a person at the bench expects."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from rules.electrical.load import exact, parallel_impedance, power_share, rated_power
from rules.electrical.supply import cruise_current, voltage_drop

ohms = st.integers(5, 320).map(lambda x: x / 10)
amperes = st.integers(0, 1_000).map(lambda x: x / 10)
sizes = st.integers(1, 500).map(lambda x: x / 10)
watts = st.integers(1, 5_000).map(lambda x: x / 10)


@given(st.lists(ohms, min_size=2, max_size=6))
def test_a_parallel_load_is_below_its_smallest_branch(branches):
    assert parallel_impedance(branches) < exact(min(branches))


@given(st.lists(ohms, min_size=1, max_size=6), st.randoms(use_true_random=False))
def test_the_order_of_branches_does_not_matter(branches, rng):
    mixed = sorted(branches, key=lambda _: rng.random())
    assert parallel_impedance(mixed) == parallel_impedance(branches)


@given(ohms, st.integers(1, 8))
def test_equal_branches_share_alike(branch, count):
    assert parallel_impedance([branch] * count) == exact(branch) / count


@given(watts, st.lists(ohms, min_size=1, max_size=6))
def test_the_shares_of_all_speakers_add_up_to_the_power(power, branches):
    load = parallel_impedance(branches)
    assert sum((power_share(power, load, x) for x in branches), Fraction(0)) == exact(power)


@given(st.dictionaries(st.sampled_from(["1", "2", "4", "8"]), watts, min_size=1), ohms)
def test_rated_power_is_from_the_table_and_never_below_it(table, load):
    power = rated_power(table, exact(load))
    if power is None:
        assert all(float(x) > load for x in table)
    else:
        assert power in table.values()


@given(amperes, amperes, sizes, sizes)
def test_voltage_drop_grows_with_current(one, other, length, area):
    less, more = sorted((one, other))
    assert voltage_drop(less, length, area) <= voltage_drop(more, length, area)


@given(amperes, sizes, sizes, sizes)
def test_voltage_drop_grows_with_length(current, one, other, area):
    shorter, longer = sorted((one, other))
    assert voltage_drop(current, shorter, area) <= voltage_drop(current, longer, area)


@given(amperes, sizes, sizes, sizes)
def test_voltage_drop_falls_with_area(current, length, one, other):
    thinner, thicker = sorted((one, other))
    assert voltage_drop(current, length, thicker) <= voltage_drop(current, length, thinner)


@given(watts, watts, st.integers(1, 100).map(lambda x: x / 100), amperes)
def test_current_at_cruise_grows_with_power_and_is_never_below_idle(one, other, efficiency, idle):
    less, more = sorted((exact(one), exact(other)))
    assert exact(idle) < cruise_current(less, efficiency, idle) <= cruise_current(more, efficiency, idle)
