"""Filters of a zone and speakers in pods."""

from __future__ import annotations

import pytest

from rules.acoustics.biquad import biquad
from rules.acoustics.closed_box import closed_box_volume
from rules.acoustics.filter_response import crossover_deviation, filter_gain, section_q
from rules.acoustics.level import pressure_sum
from rules.acoustics.pod import SpeakerInPod, speaker_in_pod
from rules.acoustics.zone_filter import ZoneFilter, zone_filter
from rules.errors import MalformedQuestion


def fronts(
    amplifier: str = "filters", head_unit: str = "filters", hands_over: float | None = None
) -> ZoneFilter:
    return zone_filter(70, 88, hands_over, amplifier, head_unit, 4)


def in_pod(pod: str, q: float = 0.5, volume: float | None = 6, **vent: float) -> SpeakerInPod:
    return speaker_in_pod(pod, 60, q, 12, volume, vent.get("vent_mm"), vent.get("length_mm"), 20)


def test_the_amplifier_filters_where_both_could_and_the_head_unit_stays_open():
    found = fronts()
    assert (found.sits_in, found.leave_open) == ("amplifier", "head_unit")
    assert (found.high_pass_hz, found.family, found.order) == (100, "butterworth", 2)
    assert found.rests_on == "pod"


def test_the_head_unit_filters_for_a_plain_amplifier():
    assert fronts(amplifier="plain").sits_in == "head_unit"
    assert fronts(amplifier="none").sits_in == "head_unit"


def test_where_nothing_filters_a_bass_blocker_does():
    found = fronts(amplifier="none", head_unit="plain")
    assert (found.sits_in, found.order, found.capacitor_uf) == ("capacitor", 1, 470)


def test_a_bass_blocker_makes_no_low_pass_and_says_so():
    found = fronts(amplifier="none", head_unit="plain", hands_over=2500)
    assert (found.low_pass_hz, found.open_wish) == (None, "low_pass")


def test_zones_that_share_a_corner_take_filters_that_sum_flat():
    found = fronts(hands_over=2500)
    assert (found.low_pass_hz, found.family, found.order) == (2500, "linkwitz_riley", 4)
    assert crossover_deviation(found.family, found.order, "same") == pytest.approx(0, abs=1e-9)


def test_without_any_lowest_frequency_nothing_is_guessed():
    with pytest.raises(MalformedQuestion, match="speaker_lowest_hz is missing"):
        zone_filter(None, None, None, "filters", "plain", None)


def test_a_bass_blocker_needs_the_impedance():
    with pytest.raises(MalformedQuestion, match="impedance_ohm is missing"):
        zone_filter(70, None, None, "none", "plain", None)


def test_a_zone_cannot_hand_over_below_its_own_high_pass():
    with pytest.raises(MalformedQuestion) as refused:
        fronts(hands_over=100)
    assert refused.value.field == "hands_over_hz"


@pytest.mark.parametrize(("volume", "sound"), [(30, "even"), (6, "full"), (2, "boomy")])
def test_a_smaller_pod_sounds_fuller_and_then_boomy(volume, sound):
    assert in_pod("sealed", volume=volume).sound == sound


def test_a_leaky_pod_is_as_good_as_none():
    found = in_pod("open", volume=None)
    assert found.q == 0.5
    assert found.lowest_hz > 60


def test_a_vented_pod_is_filtered_at_its_tuning_and_not_judged_by_q():
    found = in_pod("vented", volume=20, vent_mm=50, length_mm=100)
    assert (found.sound, found.q, found.peak_db) == ("vented", None, None)
    assert found.lowest_hz == pytest.approx(45.3, abs=0.1)
    assert found.high_pass_hz == 50


@pytest.mark.parametrize(
    ("pod", "given", "missing"),
    [
        ("sealed", {"volume": None}, "volume_l"),
        ("vented", {"length_mm": 100}, "vent_mm"),
        ("vented", {"vent_mm": 50}, "vent_length_mm"),
    ],
)
def test_a_missing_figure_of_a_pod_is_named(pod, given, missing):
    with pytest.raises(MalformedQuestion, match=f"{missing} is missing") as refused:
        in_pod(pod, **given)
    assert refused.value.field == missing


def test_no_box_lowers_the_q_of_a_speaker():
    with pytest.raises(MalformedQuestion) as refused:
        closed_box_volume(0.8, 10, 0.7)
    assert refused.value.field == "wanted_q"


def test_there_is_no_linkwitz_riley_filter_of_odd_order():
    with pytest.raises(MalformedQuestion, match="even order"):
        filter_gain("linkwitz_riley", 3, "low", 100, 100)


def test_a_filter_has_only_so_many_sections():
    assert section_q("linkwitz_riley", 6, 1) == 0.5
    with pytest.raises(MalformedQuestion, match="has 1 second-order"):
        section_q("butterworth", 3, 2)


def test_a_corner_lies_below_half_the_sampling_rate():
    with pytest.raises(MalformedQuestion) as refused:
        biquad("low", 24_000, 48_000, 0.7, "normalised")
    assert refused.value.field == "corner_hz"


def test_each_level_has_one_phase():
    with pytest.raises(MalformedQuestion) as refused:
        pressure_sum((80, 80), (0,))
    assert refused.value.field == "phases_deg"


def test_speakers_that_cancel_leave_next_to_nothing():
    assert pressure_sum((80, 80), (0, 180)) == pytest.approx(-40)
