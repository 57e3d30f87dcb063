"""Filters as scipy has them, and boxes, gains and tones that keep to their limits."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from rules.acoustics.biquad import biquad
from rules.acoustics.closed_box import (
    EVEN_Q,
    closed_box,
    closed_box_gain,
    closed_box_volume,
    corner_ratio,
    peak,
)
from rules.acoustics.filter_response import (
    crossover_deviation,
    filter_gain,
    filter_phase,
    response,
    section_qs,
)
from rules.acoustics.passive_filter import E6, bass_blocker
from rules.acoustics.pod import speaker_in_pod
from rules.acoustics.vent import vent_tuning
from rules.acoustics.zone_filter import zone_filter
from rules.presets.gain import gain
from rules.presets.polarity import reversed_cost
from rules.presets.tone import gain_tone

orders = st.integers(1, 10)
sides = st.sampled_from(["low", "high"])
ratios = st.floats(0.05, 20)
corners = st.floats(30, 8000)
qs = st.floats(0.2, 3)
litres = st.floats(0.5, 100)
watts = st.floats(1, 500)
ohms = st.floats(1, 16)
HAIR = 1e-9


def scipys(order: int, side: str, ratio: float) -> complex:
    zeros, poles, factor = signal.butter(order, 1, btype=side, analog=True, output="zpk")
    return complex(signal.freqs_zpk(zeros, poles, factor, worN=[ratio])[1][0])


@given(orders, sides, ratios)
def test_a_butterworth_filter_is_scipys(order, side, ratio):
    theirs = scipys(order, side, ratio)
    assert response("butterworth", order, side, ratio) == pytest.approx(theirs, rel=1e-6)
    assert filter_gain("butterworth", order, side, ratio, 1) == pytest.approx(
        20 * math.log10(abs(theirs)), abs=1e-6
    )


@given(st.integers(1, 5), sides, ratios)
def test_a_linkwitz_riley_filter_is_two_of_scipys_butterworths(half, side, ratio):
    theirs = scipys(half, side, ratio) ** 2
    assert response("linkwitz_riley", 2 * half, side, ratio) == pytest.approx(theirs, rel=1e-6)
    assert filter_gain("linkwitz_riley", 2 * half, side, ratio, 1) == pytest.approx(
        20 * math.log10(abs(theirs)), abs=1e-6
    )


@given(orders, sides, ratios)
def test_the_phase_is_scipys(order, side, ratio):
    turned = math.radians(filter_phase("butterworth", order, side, ratio, 1))
    theirs = scipys(order, side, ratio)
    assert complex(math.cos(turned), math.sin(turned)) == pytest.approx(theirs / abs(theirs), abs=1e-6)


@given(st.integers(2, 12))
def test_section_qs_are_those_of_scipys_sections(order):
    poles = [x for x in signal.butter(order, 1, analog=True, output="zpk")[1] if x.imag > HAIR]
    theirs = sorted(float(-1 / (2 * x.real)) for x in poles)
    assert list(section_qs("butterworth", order)) == pytest.approx(theirs)


@given(sides, st.floats(20, 20_000), st.sampled_from([44_100.0, 48_000.0, 96_000.0]))
def test_a_biquad_of_butterworth_q_is_scipys(side, corner, rate):
    b, a = signal.butter(2, corner, btype=side, fs=rate)
    found = biquad(side, corner, rate, math.sqrt(0.5), "normalised")
    assert [found.b0, found.b1, found.b2] == pytest.approx(list(b), rel=1e-6, abs=1e-12)
    assert [found.a0, found.a1, found.a2] == pytest.approx(list(a), rel=1e-9, abs=1e-9)


@given(sides, st.floats(50, 15_000), qs)
def test_a_biquad_is_one_filter_in_both_forms_and_has_its_q_as_gain_at_the_corner(side, corner, q):
    found = biquad(side, corner, 48_000, q, "cookbook")
    same = biquad(side, corner, 48_000, q, "normalised")
    assert same.a0 == 1
    for name in ("b0", "b1", "b2", "a1", "a2"):
        assert getattr(same, name) * found.a0 == pytest.approx(getattr(found, name), rel=1e-12)
    b, a = [found.b0, found.b1, found.b2], [found.a0, found.a1, found.a2]
    assert abs(complex(signal.freqz(b, a, worN=[corner], fs=48_000)[1][0])) == pytest.approx(q, rel=1e-6)


@given(
    st.sampled_from(["butterworth", "linkwitz_riley"]), st.integers(1, 6), sides, corners, corners, corners
)
def test_a_filter_never_amplifies_and_takes_more_further_out(family, half, side, one, other, corner):
    near, far = sorted((one, other), reverse=side == "high")
    gains = [filter_gain(family, 2 * half, side, x, corner) for x in (near, far)]
    assert 0 >= gains[0] >= gains[1] - HAIR


@given(st.integers(1, 6))
def test_linkwitz_riley_filters_sum_flat_in_one_way_of_wiring_and_leave_a_hole_in_the_other(half):
    flat, holed = ("same", "reversed") if half % 2 == 0 else ("reversed", "same")
    assert crossover_deviation("linkwitz_riley", 2 * half, flat) == pytest.approx(0, abs=1e-6)
    assert crossover_deviation("linkwitz_riley", 2 * half, holed) == -120


@given(corners, ohms)
def test_a_bass_blocker_that_is_made_lies_within_half_a_step_of_what_was_asked(corner, impedance):
    found = bass_blocker(corner, impedance)
    step = max(later / earlier for earlier, later in pairwise(E6))
    assert found.capacitance_uf / step**0.5 <= found.standard_uf <= found.capacitance_uf * step**0.5
    assert found.made_corner_hz * found.standard_uf == pytest.approx(corner * found.capacitance_uf)


@given(st.floats(20, 150), qs, litres, litres)
def test_a_box_is_down_by_three_decibels_at_its_corner_as_scipy_sees_it(resonance, q, vas, volume):
    box = closed_box(resonance, q, vas, volume)
    angular = 2 * math.pi * box.resonance_hz
    system = signal.TransferFunction([1, 0, 0], [1, angular / box.q, angular**2])
    _, gains, _ = signal.bode(system, [2 * math.pi * box.corner_hz, 2 * math.pi * 3 * box.resonance_hz])
    assert gains[0] == pytest.approx(10 * math.log10(0.5), abs=1e-6)
    assert gains[1] == pytest.approx(closed_box_gain(box.q, box.resonance_hz, 3 * box.resonance_hz), abs=1e-6)


@given(st.floats(0.72, 5))
def test_the_peak_is_the_highest_that_any_note_reaches(q):
    at = 1 / math.sqrt(1 - 1 / (2 * q**2))
    assert closed_box_gain(q, 1, at) == pytest.approx(peak(q), abs=1e-6)
    assert max(closed_box_gain(q, 1, at * 10 ** (x / 50)) for x in range(-50, 51)) <= peak(q) + HAIR


@given(qs, qs)
def test_a_higher_q_peaks_no_less_and_reaches_no_less_low(one, other):
    low, high = sorted((one, other))
    assert peak(low) <= peak(high)
    assert corner_ratio(high) <= corner_ratio(low) + HAIR


@given(st.floats(20, 150), qs, litres, litres, litres)
def test_a_smaller_pod_never_lowers_resonance_or_q(resonance, q, vas, one, other):
    small, large = sorted((one, other))
    boxes = [closed_box(resonance, q, vas, x) for x in (small, large)]
    assert boxes[0].q >= boxes[1].q >= q
    assert boxes[0].resonance_hz >= boxes[1].resonance_hz >= resonance


@given(st.floats(0.2, 0.7), litres, st.floats(0.01, 2))
def test_the_volume_for_a_q_gives_that_q(q, vas, more):
    volume = closed_box_volume(q, vas, q + more)
    assert closed_box(50, q, vas, volume).q == pytest.approx(q + more)


@given(litres, st.floats(10, 120), st.floats(0, 300), st.floats(1.01, 3))
def test_a_longer_vent_or_a_larger_box_is_tuned_lower(volume, diameter, length, more):
    tuned = vent_tuning(volume, diameter, length, 1.7, 20)
    assert vent_tuning(volume, diameter, length * more + 1, 1.7, 20) < tuned
    assert vent_tuning(volume * more, diameter, length, 1.7, 20) < tuned


@given(st.floats(30, 200), qs, litres, litres)
def test_the_high_pass_of_a_pod_is_never_below_its_corner(resonance, q, vas, volume):
    found = speaker_in_pod("sealed", resonance, q, vas, volume, None, None, 20)
    assert found.high_pass_hz >= found.lowest_hz
    assert found.q is not None
    assert found.peak_db is not None
    assert (found.peak_db > 0) == (found.q > EVEN_Q) or found.q == pytest.approx(EVEN_Q, rel=1e-6)


@given(
    st.none() | st.floats(20, 500),
    st.floats(20, 500),
    st.sampled_from(["none", "plain", "filters"]),
    st.sampled_from(["plain", "filters"]),
)
def test_a_zone_is_filtered_in_one_place_that_can_and_no_lower_than_speaker_and_pod(
    speaker, pod, amplifier, head
):
    found = zone_filter(speaker, pod, None, amplifier, head, 4)
    assert found.high_pass_hz >= max(pod, speaker or 0)
    able = {"amplifier": amplifier == "filters", "head_unit": head == "filters"}
    assert able.get(found.sits_in, not any(able.values()))
    assert found.leave_open == ("head_unit" if all(able.values()) else "")
    assert (found.capacitor_uf is not None) == (found.sits_in == "capacitor")


@given(watts, st.lists(st.tuples(watts, ohms), min_size=1, max_size=4), st.none() | st.floats(0.5, 10))
def test_a_gain_is_no_more_than_each_of_its_limits(power, speakers, source):
    load = 1 / sum(1 / z for _, z in speakers)
    ratings, impedances = zip(*speakers, strict=True)
    found = gain(power, load, ratings, impedances, source, None if source is None else 10)
    assert found.watts <= power * (1 + HAIR)
    assert all(found.volts**2 / z <= rating * (1 + HAIR) for rating, z in speakers)
    assert source is None or found.volts <= 10 * source * (1 + HAIR)
    limits = {"amplifier": found.amplifier_v, "speakers": found.speakers_v, "head_unit": found.head_unit_v}
    assert found.volts == limits[found.limited_by]


@given(watts, watts, ohms)
def test_a_stronger_amplifier_never_lowers_a_gain(one, other, impedance):
    weak, strong = sorted((one, other))
    assert gain(weak, impedance).volts <= gain(strong, impedance).volts


@given(st.floats(1, 60), st.floats(20, 2000), st.floats(3, 200), st.floats(-20, 0))
def test_a_test_tone_lies_between_the_filters_and_never_reads_above_the_target(target, low, span, level):
    high = min(low * span, 20_000)
    found = gain_tone(target, low, high, level, "disconnected", 400)
    assert low < found.frequency_hz < high
    assert found.inside_octaves > 0
    assert found.reading_v <= target
    assert (found.instrument == "meter") == (found.frequency_hz <= 400)


@given(st.integers(2, 16), st.floats(0.1, 10))
def test_one_reversed_speaker_always_costs_and_less_among_more(speakers, mismatch):
    assert reversed_cost(speakers, 1, mismatch) < 0
    assert reversed_cost(speakers, 0, mismatch) == 0
    assert reversed_cost(speakers, 1, mismatch) < reversed_cost(speakers + 1, 1, mismatch)
