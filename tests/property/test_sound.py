"""Levels, weightings and bands as acoustic-toolbox has them, and laws that hearing needs."""

from __future__ import annotations

import math
import warnings

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rules.acoustics.exposure import CRITERIA, allowed_hours, allowed_level, noise_dose
from rules.acoustics.level import distance_gain, energy_sum, power_gain, pressure_level, pressure_sum
from rules.acoustics.listening import listening_time
from rules.acoustics.sensitivity import (
    SINE_CREST_DB,
    free_field_level,
    music_level,
    watt_sensitivity,
    watt_voltage,
)
from rules.acoustics.signal_level import (
    full_scale_amplitude,
    full_scale_level,
    level_voltage,
    voltage_level,
)
from rules.acoustics.weighting import NOMINAL_HZ, a_weighted_level, a_weighting, third_octave
from rules.acoustics.wind import helmet_loss, wind_growth, wind_noise

with warnings.catch_warnings():
    # Imports matplotlib, and registers a scale in a way that matplotlib is about to drop.
    warnings.simplefilter("ignore", PendingDeprecationWarning)
    from acoustic_toolbox.decibel import dbsum
    from acoustic_toolbox.octave import exact_center_frequency, lower_frequency, upper_frequency
    from acoustic_toolbox.standards.iec_61672_1_2013 import WEIGHTING_A

levels = st.floats(20, 140)
spectra = st.lists(levels, min_size=1, max_size=8).map(tuple)
speeds = st.floats(64, 161)
criteria = st.sampled_from(sorted(CRITERIA))
HAIR = 1e-9


@given(spectra)
def test_the_energy_sum_is_acoustic_toolboxs(sounds):
    assert energy_sum(sounds) == pytest.approx(float(dbsum(list(sounds))), abs=1e-9)


@given(st.integers(-20, 13))
def test_the_a_weighting_is_the_standards_table_as_acoustic_toolbox_holds_it(band):
    # The table begins at 10 Hz, band -20, and is printed to a tenth.
    frequency = float(exact_center_frequency(n=band, fraction=3))
    assert a_weighting(frequency) == pytest.approx(float(WEIGHTING_A[band + 20]), abs=0.051)


@given(st.integers(-17, 13))
def test_bands_are_acoustic_toolboxs(band):
    found = third_octave(band)
    middle = float(exact_center_frequency(n=band, fraction=3))
    assert found.frequency_hz == pytest.approx(middle, rel=1e-9)
    assert found.lower_hz == pytest.approx(float(lower_frequency(middle, 3)), rel=1e-9)
    assert found.upper_hz == pytest.approx(float(upper_frequency(middle, 3)), rel=1e-9)


def test_each_named_band_is_the_nearest_to_its_exact_frequency():
    for band, name in enumerate(NOMINAL_HZ, start=-17):
        found = third_octave(band)
        assert found.lower_hz < name < found.upper_hz


@given(st.lists(levels, min_size=1, max_size=31).map(tuple))
def test_the_weighted_level_sums_what_acoustic_toolbox_weights(bands):
    # The table begins at 10 Hz: three bands below.
    weights = [float(x) for x in WEIGHTING_A[3 : 3 + len(bands)]]
    theirs = float(dbsum([level + weight for level, weight in zip(bands, weights, strict=True)]))
    assert a_weighted_level(bands, 20.0) == pytest.approx(theirs, abs=0.06)


@given(spectra)
def test_a_sum_is_at_least_its_strongest_and_at_most_that_many_of_it(sounds):
    assert max(sounds) <= energy_sum(sounds) <= max(sounds) + 10 * math.log10(len(sounds)) + HAIR


@given(spectra)
def test_one_tone_in_phase_is_no_weaker_than_unrelated_sounds(sounds):
    assert pressure_sum(sounds) >= energy_sum(sounds) - HAIR


@given(levels, levels, st.floats(-180, 180))
def test_turning_the_phase_never_adds_to_what_is_in_phase(one, other, phase):
    assert pressure_sum((one, other), (0, phase)) <= pressure_sum((one, other)) + HAIR


@given(st.floats(1e-6, 1e3))
def test_twice_the_pressure_is_six_decibels_and_twice_the_power_three(pressure):
    assert pressure_level(2 * pressure) - pressure_level(pressure) == pytest.approx(20 * math.log10(2))
    assert power_gain(2 * pressure) - power_gain(pressure) == pytest.approx(10 * math.log10(2))


@given(st.floats(0.1, 50), st.floats(0.1, 50))
def test_further_away_is_never_stronger(one, other):
    near, far = sorted((one, other))
    assert distance_gain(far) <= distance_gain(near)


@given(st.floats(60, 120), st.floats(0.5, 64))
def test_both_ways_to_print_a_sensitivity_give_one_level_for_the_same_voltage(printed, impedance):
    watts = watt_voltage(1, 8) ** 2 / impedance
    one_watt = watt_sensitivity(printed, impedance).sensitivity_db
    assert free_field_level(one_watt, watts, 1) == pytest.approx(printed)


@given(
    st.floats(60, 120), st.floats(1, 500), st.floats(1, 500), st.floats(SINE_CREST_DB, 30), st.floats(0.3, 3)
)
def test_music_never_asks_more_of_a_speaker_than_its_rating(sensitivity, amplifier, speaker, crest, distance):
    found = music_level(sensitivity, amplifier, speaker, crest, distance)
    assert found.power_w <= speaker
    assert found.power_w <= amplifier * (1 + HAIR)
    assert found.level_db <= free_field_level(sensitivity, min(amplifier, speaker), distance) + HAIR


@given(st.floats(1e-3, 100), st.sampled_from(["dBV", "dBu"]))
def test_a_voltage_comes_back_from_its_level(volts, scale):
    assert level_voltage(voltage_level(volts, scale), scale) == pytest.approx(volts)


@given(st.floats(-140, 0))
def test_a_full_scale_level_comes_back_from_its_amplitude(level):
    assert full_scale_level(full_scale_amplitude(level)) == pytest.approx(level, abs=1e-9)


@given(levels, levels, criteria)
def test_more_level_never_allows_more_time(one, other, criterion):
    quiet, strong = sorted((one, other))
    assert allowed_hours(strong, criterion) <= allowed_hours(quiet, criterion)


@given(levels, criteria)
def test_time_and_level_are_each_others_reverse(level, criterion):
    assert allowed_level(allowed_hours(level, criterion), criterion) == pytest.approx(level)


@given(levels, criteria)
def test_the_time_that_is_allowed_is_a_dose_of_a_hundred(level, criterion):
    hours = allowed_hours(level, criterion)
    assert noise_dose((hours,), (hours,)) == pytest.approx(100)
    assert noise_dose((hours / 4, hours / 4), (hours, hours)) == pytest.approx(50)


@given(speeds, speeds)
def test_faster_is_never_quieter(one, other):
    slow, fast = sorted((one, other))
    assert wind_noise(slow).level_dba <= wind_noise(fast).level_dba
    assert wind_noise(slow).level_dba + wind_growth(slow, fast) == pytest.approx(wind_noise(fast).level_dba)


@given(speeds, st.floats(40, 120), st.floats(40, 120), criteria)
def test_more_music_never_allows_more_listening(speed, one, other, criterion):
    soft, strong = sorted((one, other))
    quiet = listening_time(speed, soft, 0, criterion)
    loud = listening_time(speed, strong, 0, criterion)
    assert loud.minutes <= quiet.minutes * (1 + HAIR)
    assert loud.minutes <= loud.wind_minutes * (1 + HAIR)
    assert loud.least_minutes <= loud.minutes * (1 + HAIR)


@given(speeds, st.floats(40, 120), st.floats(0, 40), st.floats(0, 40), criteria)
def test_better_earplugs_never_allow_less(speed, music, one, other, criterion):
    weak, strong = sorted((one, other))
    assert listening_time(speed, music, weak, criterion).minutes <= listening_time(
        speed, music, strong, criterion
    ).minutes * (1 + HAIR)


@given(st.floats(20, 16_000), st.floats(20, 16_000))
def test_a_helmet_keeps_out_more_of_a_higher_note(one, other):
    low, high = sorted((one, other))
    assert 0 <= helmet_loss(low) <= helmet_loss(high)
