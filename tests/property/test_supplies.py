"""Amplifiers, batteries, charging and masses move the way that a person at the bench expects."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.electrical.amplifier import bridge, efficiency, output_ceiling, power_at_load, power_at_supply
from rules.electrical.battery import CHEMISTRIES, charge_voltage, parked_time
from rules.electrical.charging import charging_balance, idle_balance
from rules.electrical.connector import contact_load, post_lugs
from rules.electrical.mass import mass_left, payload_left
from rules.electrical.supply import supply_currents

watts = st.floats(1, 2000)
amps = st.floats(0, 100)
draws = st.floats(0.05, 100)
volts = st.floats(10, 15)
classes = st.sampled_from(["D", "AB"])
batteries = st.sampled_from(sorted(CHEMISTRIES))
capacities = st.floats(2, 100)
ages = st.floats(0, 7)
warmth = st.floats(-20, 50)
masses = st.floats(0, 300)
tables = st.dictionaries(st.sampled_from([1.0, 2.0, 4.0, 8.0]), watts, min_size=1)
HAIR = 1 + 1e-9


@given(tables, st.floats(0.5, 20))
def test_power_at_a_load_is_a_rating_and_never_below_the_table(table, load):
    found = power_at_load(load, tuple(table), tuple(table.values()))
    if load < min(table):
        assert found.power_w is None
        assert found.stands == "below"
    else:
        assert found.power_w == table[max(ohm for ohm in table if ohm <= load)]


@given(watts, volts, volts, st.sampled_from(["regulated", "unregulated"]))
def test_an_amplifier_never_gives_more_than_rated_nor_more_for_less_voltage(rated, one, other, kind):
    low, high = sorted((one, other))
    little = power_at_supply(rated, low, power_supply=kind).power_w
    assert little <= power_at_supply(rated, high, power_supply=kind).power_w <= rated


@given(volts, st.floats(0.5, 16))
def test_a_bridged_output_has_four_times_the_ceiling_of_a_single_one(supply, load):
    assert output_ceiling(supply, load) == pytest.approx(4 * output_ceiling(supply, load, "single"))


@given(tables, st.floats(0.5, 20), st.floats(0.5, 4))
def test_a_bridged_pair_has_power_only_where_each_half_may_drive_what_it_sees(table, load, lowest):
    found = bridge(load, lowest, tuple(table), tuple(table.values()))
    assert found.seen_ohm == load / 2
    assert found.allowed == (load / 2 >= lowest)
    assert found.power_w is None or found.allowed


@given(classes, st.floats(0.01, 1), st.floats(0.01, 1))
def test_efficiency_never_falls_with_power(kind, one, other):
    less, more = sorted((one, other))
    assert 0 < efficiency(kind, less) <= efficiency(kind, more) <= 1


@given(watts, classes, volts)
def test_more_output_draws_more(rated, kind, supply):
    found = supply_currents(rated, kind, supply)
    assert found.full_a > found.third_a > found.eighth_a > found.idle_a
    assert found.assumed == ("efficiency", "idle")


@given(watts, classes, volts, st.floats(0.3, 0.95), st.floats(0, 5))
def test_an_amplifier_never_draws_less_than_it_puts_out(rated, kind, supply, full_efficiency, idle):
    found = supply_currents(rated, kind, supply, full_efficiency, idle)
    assert found.full_a * supply >= rated
    assert found.assumed == ()


@given(capacities, draws, draws, batteries, ages, warmth)
def test_drawing_more_never_lasts_longer(capacity, one, other, battery, age, warm):
    less, more = sorted((one, other))
    long = parked_time(capacity, less, battery, age, warm).time_h
    short = parked_time(capacity, more, battery, age, warm).time_h
    assert long is not None
    assert short is not None
    assert short <= long * HAIR


@given(capacities, draws, batteries, ages, ages, warmth, warmth)
def test_an_older_or_a_colder_battery_never_lasts_longer(capacity, current, battery, one, other, cold, warm):
    young, old = sorted((one, other))
    cool, mild = sorted((cold, warm))
    long = parked_time(capacity, current, battery, young, mild).time_h
    short = parked_time(capacity, current, battery, old, cool).time_h
    assert long is not None
    assert short is not None
    assert short <= long


@given(capacities, draws, batteries, ages, warmth, st.floats(0, 1))
def test_the_reserve_stays_in(capacity, current, battery, age, warm, reserve):
    found = parked_time(capacity, current, battery, age, warm, reserve)
    assert found.time_h is not None
    assert found.usable_ah is not None
    assert found.time_h * current + found.reserve_ah <= capacity * HAIR or found.time_h == 0


@pytest.mark.parametrize("battery", sorted(CHEMISTRIES))
def test_of_a_battery_that_is_too_old_nothing_is_said(battery):
    oldest = CHEMISTRIES[battery].oldest
    assert parked_time(12.0, 3.0, battery, oldest, 20.0).time_h is None
    assert parked_time(12.0, 3.0, battery, oldest - 0.1, 20.0).time_h is not None


@given(warmth, warmth)
def test_a_colder_lead_battery_bears_a_higher_charging_voltage(one, other):
    cold, warm = sorted((one, other))
    assert charge_voltage("agm", cold).most_v >= charge_voltage("agm", warm).most_v


@given(warmth)
def test_lithium_iron_phosphate_is_never_charged_above_its_cells_nor_below_freezing(warm):
    found = charge_voltage("lithium_iron_phosphate", warm)
    assert found.most_v == pytest.approx(14.6)
    assert found.allowed == (warm >= 0)


@given(amps, amps, amps, st.lists(amps, min_size=1, max_size=4).map(tuple), amps)
def test_each_more_that_is_switched_on_leaves_less(output, bike, amplifiers, extras, more):
    before = charging_balance(output, bike, amplifiers, extras)
    after = charging_balance(output, bike, amplifiers, (*extras, more))
    assert after.headroom_a <= before.headroom_a
    assert (after.deficit_a > 0) == (after.headroom_a < 0)


@given(amps, amps, amps, st.floats(0, 50))
def test_idling_is_limited_just_where_the_battery_gives(output, bike, amplifiers, usable):
    found = idle_balance(output, bike, amplifiers, usable)
    assert (found.time_h is None) == (found.deficit_a == 0)


@given(draws, st.floats(1, 60), st.integers(1, 8))
def test_contacts_that_share_never_carry_more_than_their_ratings_together(current, rating, contacts):
    found = contact_load(current, rating, contacts)
    if found.allowed:
        assert current <= rating * contacts * HAIR


@given(st.integers(0, 10), st.integers(0, 10))
def test_a_post_takes_lugs_up_to_its_number(lugs, most):
    found = post_lugs(lugs, most)
    assert found.allowed == (lugs <= most) == (found.left >= 0)


@given(masses, st.lists(masses, min_size=1, max_size=5).map(tuple), masses)
def test_each_more_part_leaves_less_mass(limit, parts, more):
    assert mass_left(limit, (*parts, more)).left_kg <= mass_left(limit, parts).left_kg


@given(masses, masses, st.lists(masses, min_size=1, max_size=5).map(tuple), masses, masses)
def test_payload_counts_everything_once(payload, rider, parts, passenger, luggage):
    found = payload_left(payload, rider, parts, passenger, luggage)
    assert found.total_kg == pytest.approx(rider + passenger + luggage + sum(parts))
    assert found.left_kg == pytest.approx(payload - found.total_kg)
