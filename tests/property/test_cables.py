"""Cables, fuses and conductors move the way that a person at the bench expects."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from rules.electrical.ampacity import CLASSES, ENGINE_SPACE, TABLE, ampacity
from rules.electrical.cable import amplifier_voltage, cable_drop, lead_drop
from rules.electrical.cable_choice import SOLD_AWG, choose_cable
from rules.electrical.conductor import (
    CLASS_5,
    COPPER_20_C,
    MATERIALS,
    awg_conductor,
    conductor,
    conductor_resistance,
)
from rules.electrical.fuse import CARRIES, RATINGS, choose_fuse, largest_rating, smallest_rating

amps = st.floats(0, 200)
draws = st.floats(0.1, 200)
metres = st.floats(0.1, 10)
volts = st.floats(6, 32)
warmth = st.floats(-40, 150)
gauges = st.sampled_from(SOLD_AWG)
metric = st.sampled_from(tuple(CLASS_5))
materials = st.sampled_from(MATERIALS)
insulation = st.floats(60, 200)
places = st.sampled_from(["free_air", "engine_space"])
bundles = st.integers(1, 40)
HAIR = 1 + 1e-9
"""Room for the rounding of binary fractions."""


@st.composite
def runs(draw):
    """Where a cable runs, and in what: the arguments of `ampacity` after the size."""
    return (draw(insulation), draw(places), draw(bundles), draw(materials))


def size(awg: int) -> str:
    return awg_conductor(awg).size


@given(gauges)
def test_the_name_of_a_size_reads_back_as_the_size(awg):
    assert conductor(size(awg)) == awg_conductor(awg)


@given(amps, metres, gauges, gauges, volts, warmth, materials)
def test_a_thicker_cable_never_drops_more(current, length, one, other, supply, warm, material):
    thick, thin = sorted((one, other))
    args = (supply, warm, material)
    thick_drop = cable_drop(current, length, size(thick), *args).drop_v
    assert thick_drop <= cable_drop(current, length, size(thin), *args).drop_v * HAIR


@given(amps, metres, metric, metric, volts, warmth, materials)
def test_a_thicker_metric_cable_never_drops_more(current, length, one, other, supply, warm, material):
    thin, thick = sorted((one, other))
    args = (supply, warm, material)
    thick_drop = cable_drop(current, length, f"{thick:g} mm2", *args).drop_v
    assert thick_drop <= cable_drop(current, length, f"{thin:g} mm2", *args).drop_v * HAIR


@given(gauges, warmth, warmth, materials)
def test_a_warmer_cable_never_resists_less(awg, one, other, material):
    cool, warm = sorted((one, other))
    cold = conductor_resistance(size(awg), cool, material)
    assert cold <= conductor_resistance(size(awg), warm, material) * HAIR


@given(gauges, warmth)
def test_copper_clad_aluminium_always_resists_more_than_copper(awg, warm):
    clad = conductor_resistance(size(awg), warm, "copper_clad_aluminium")
    assert clad > conductor_resistance(size(awg), warm, "copper")


@given(amps, metres, st.floats(0.1, 100), volts)
def test_what_is_lost_and_what_is_left_add_up(current, length, ohm, supply):
    drop = lead_drop(current, length, ohm, supply)
    assert drop.drop_v + drop.left_v == pytest.approx(supply)
    assert drop.lost_w == pytest.approx(drop.drop_v * current)


@given(volts, st.floats(0.001, 0.1), st.floats(0, 500))
def test_an_amplifier_of_constant_power_gets_that_power_or_none(supply, ohms, watts):
    found = amplifier_voltage(supply, ohms, watts)
    if found.amplifier_v is None or found.current_a is None:
        assert supply**2 / (4 * ohms) < watts * HAIR
    else:
        assert found.amplifier_v * found.current_a == pytest.approx(watts)
        assert found.amplifier_v + ohms * found.current_a == pytest.approx(supply)


@given(gauges, gauges, runs())
def test_a_thicker_cable_never_carries_less(one, other, run):
    thick, thin = sorted((one, other))
    more, less = ampacity(size(thick), *run).derated_a, ampacity(size(thin), *run).derated_a
    assert more is not None
    assert less is not None
    assert more >= less


@given(gauges, runs())
def test_heat_bundling_and_another_metal_only_take_away(awg, run):
    insulated, *_ = run
    derated, free = ampacity(size(awg), *run).derated_a, ampacity(size(awg), insulated).derated_a
    assert derated is not None
    assert free is not None
    assert derated <= free


@given(metric, runs())
def test_a_metric_cable_carries_no_more_than_a_gauge_that_is_as_thick(area, run):
    found = ampacity(f"{area:g} mm2", *run).derated_a
    enough = [awg for awg in TABLE if awg_conductor(awg).area_mm2 >= area]
    thicker = ampacity(size(max(enough)), *run).derated_a
    assert found is None or thicker is None or found <= thicker


def test_every_column_of_the_table_grows_with_the_size_and_every_row_with_the_insulation():
    table = [TABLE[awg] for awg in sorted(TABLE, reverse=True)]
    assert all(list(row) == sorted(row) for row in table)
    assert all(list(column) == sorted(column) for column in zip(*table, strict=True))
    assert list(ENGINE_SPACE) == sorted(ENGINE_SPACE)


@pytest.mark.parametrize(("rating", "factor"), list(zip(CLASSES, ENGINE_SPACE, strict=True))[:-1])
def test_engine_space_factors_follow_from_heating(rating, factor):
    # I^2 x R heats in proportion, so what is left is sqrt((T - 50) / (T - 30)). The last column, at 200
    # degrees, is printed as 1.00 by convention.
    assert factor == pytest.approx(((rating - 50) / (rating - 30)) ** 0.5, abs=0.01)


@pytest.mark.parametrize(("area", "ohm_per_km"), CLASS_5.items())
def test_the_table_of_flexible_copper_follows_from_the_metal(area, ohm_per_km):
    # Flexible conductors have a little less copper than their name, and longer wires: 8 to 17 % in all.
    assert 1.08 <= ohm_per_km / (1000 * COPPER_20_C / area) <= 1.17


@given(draws, metres, st.floats(0.5, 10), st.sampled_from(RATINGS), runs())
def test_the_cable_that_is_chosen_bears_current_and_fuse_and_keeps_the_voltage(
    current, length, percent, fuse, run
):
    found = choose_cable(current, length, percent, fuse, *run)
    if found.size is not None:
        carried = ampacity(found.size, *run).derated_a
        assert carried is not None
        assert carried >= max(current, fuse)
        assert carried == found.derated_a
        assert found.drop_percent is not None
        assert found.drop_percent <= percent


@given(draws, metres, st.floats(0.5, 10), runs())
def test_no_thinner_size_would_be_enough(current, length, percent, run):
    found = choose_cable(current, length, percent, 0.0, *run)
    assume(found.awg is not None and found.awg < max(SOLD_AWG))
    assert found.drop_awg is not None
    assert found.heat_awg is not None
    assert found.awg == min(found.drop_awg, found.heat_awg)


@given(draws, metres, st.floats(0.5, 10), st.sampled_from(RATINGS), runs())
def test_a_fuse_never_exceeds_what_its_cable_allows(current, length, percent, fuse, run):
    chosen = choose_cable(current, length, percent, fuse, *run)
    assume(chosen.derated_a is not None)
    assert chosen.derated_a is not None
    found = choose_fuse(fuse, chosen.derated_a, current)
    assert found.rating_a is not None
    assert found.rating_a == fuse <= chosen.derated_a


@given(st.floats(0.5, 150), st.floats(0, 200), amps)
def test_a_fuse_is_the_makers_value_within_the_cable_or_none(maker, carried, current):
    found = choose_fuse(maker, carried, current)
    assert found.rating_a in {None, maker}
    if found.rating_a is not None:
        assert found.rating_a <= carried
        assert found.rating_a in RATINGS
    assert found.most_a is None or found.most_a <= carried


@given(amps)
def test_ratings_are_picked_from_below_and_from_above(current):
    below, above = largest_rating(current), smallest_rating(current)
    assert below is None or below <= current
    assert above is None or CARRIES * above * HAIR >= current
    assert below != max(RATINGS) or current >= max(RATINGS)
