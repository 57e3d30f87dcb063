"""Setting a gain, labelling what was set, and checking polarity."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rules.errors import MalformedQuestion
from rules.presets.gain import CALCULATIONS, gain
from rules.presets.label import preset_label
from rules.presets.polarity import FOOLED, ZonePolarity, polarity_plan, reversed_cost
from rules.presets.record import VOIDS, ChannelSetting, PresetRecord, voided_by
from rules.presets.tone import gain_tone
from rules.presets.volume import volume_reference

FRONT_LEFT = ChannelSetting(
    channel="1",
    zones=("fronts",),
    impedance_ohm=4,
    target_v=14.14,
    high_pass_hz=100,
    low_pass_hz=None,
    sits_in="amplifier",
    tone=gain_tone(14.14, 100, 20_000, -5, "disconnected", 400),
)
RECORD = PresetRecord(
    head_unit="Petrel",
    software="2.1",
    amplifier="Fulmar",
    serial="F-0042",
    volume_step=24,
    channels=(FRONT_LEFT,),
    made_on=date(2027, 5, 3),
    made_by="Ines",
)


def reasons(now: PresetRecord) -> list[str]:
    return [x.id for x in voided_by(RECORD, now)]


def test_a_gain_is_the_lowest_of_amplifier_speakers_and_head_unit():
    assert gain(100, 4).limited_by == "amplifier"
    assert gain(100, 4, (50,), (4,)).limited_by == "speakers"
    assert gain(100, 4, (50,), (4,), 2, 5).limited_by == "head_unit"
    assert gain(100, 4, (50,), (4,), 2, 5).volts == 10


def test_the_weakest_of_parallel_speakers_decides():
    found = gain(200, 2, (60, 30), (4, 4))
    assert found.volts == pytest.approx((30 * 4) ** 0.5)
    assert found.watts == pytest.approx(60)


@pytest.mark.parametrize(
    ("given", "field"),
    [
        ({"speaker_powers": (50, 50), "speaker_impedances": (4,)}, "speaker_impedances"),
        ({"speaker_powers": (50, 50), "speaker_impedances": (4, 4)}, "impedance"),
        ({"source": 2}, "most_gain"),
        ({"most_gain": 5}, "source"),
    ],
)
def test_what_contradicts_itself_or_is_half_told_is_refused(given, field):
    with pytest.raises(MalformedQuestion) as refused:
        gain(100, 4, **given)
    assert refused.value.field == field


def test_a_gain_carries_the_cautions_for_tone_and_ears():
    (calculation,) = CALCULATIONS
    answer = calculation.answer(power=100, impedance=4)
    assert answer.result == 20
    assert {"tone", "hearing", "estimate"} <= set(answer.cautions)


def test_a_tone_lies_well_inside_and_where_a_hand_meter_is_true():
    found = gain_tone(20, 80, 20_000, -5, "disconnected", 400)
    assert (found.frequency_hz, found.instrument, found.pause_s) == (400, "meter", 0)


def test_high_notes_need_a_scope_and_connected_speakers_short_bursts():
    found = gain_tone(20, 3000, 20_000, -5, "connected", 400)
    assert found.instrument == "scope"
    assert 3000 < found.frequency_hz < 20_000
    assert found.seconds < found.pause_s


def test_filters_without_a_passband_leave_no_tone():
    with pytest.raises(MalformedQuestion) as refused:
        gain_tone(20, 100, 100, -5, "disconnected", 400)
    assert refused.value.field == "low_pass_hz"


def test_the_volume_reference_stays_below_the_last_clean_step():
    found = volume_reference(30, 25, 1)
    assert (found.step, found.percent) == (24, 80)


@pytest.mark.parametrize(("clean", "spare", "field"), [(31, 1, "last_clean_step"), (2, 2, "spare_steps")])
def test_a_volume_reference_lies_on_the_control(clean, spare, field):
    with pytest.raises(MalformedQuestion) as refused:
        volume_reference(30, clean, spare)
    assert refused.value.field == field


def test_a_preset_holds_while_nothing_in_its_chain_changes():
    assert reasons(replace(RECORD, made_on=date(2028, 1, 1), made_by="Jo")) == []


@pytest.mark.parametrize(
    ("change", "reason"),
    [
        ({"head_unit": "Skua"}, "head_unit"),
        ({"software": "2.2"}, "software"),
        ({"serial": "F-0043"}, "amplifier"),
        ({"amplifier": "Gannet"}, "amplifier"),
        ({"volume_step": 26}, "volume"),
        ({"channels": ()}, "channel"),
        ({"channels": (replace(FRONT_LEFT, zones=("fronts", "lids")),)}, "channel"),
        ({"channels": (replace(FRONT_LEFT, impedance_ohm=2),)}, "impedance"),
        ({"channels": (replace(FRONT_LEFT, high_pass_hz=80),)}, "filters"),
        ({"channels": (replace(FRONT_LEFT, sits_in="head_unit"),)}, "filters"),
    ],
)
def test_any_change_in_the_chain_voids_it_and_is_named(change, reason):
    assert reasons(replace(RECORD, **change)) == [reason]


def test_every_reason_can_come_up():
    assert len({x.id for x in VOIDS}) == len(VOIDS) == 7


def test_a_label_tells_chain_settings_and_what_voids_it():
    label = preset_label(RECORD)
    assert label.lines[0] == "Fulmar, serial F-0042"
    assert label.lines[1] == "for Petrel, software 2.1, volume 24"
    assert (
        label.lines[2] == "1: fronts, 4 ohm, 14.1 V, from 100 Hz in amplifier; reads 8.0 V at 400 Hz, -5 dBFS"
    )
    assert label.lines[3] == "set 2027-05-03 by Ines"
    assert label.lines[4].startswith("void with another head unit;")
    assert label.sentence.startswith("This Fulmar (serial F-0042) is set for fronts behind Petrel")


def test_a_label_says_where_there_is_no_filter_and_which_zones_share_a_channel():
    open_channel = replace(FRONT_LEFT, zones=("fronts", "lids"), high_pass_hz=None)
    line = preset_label(replace(RECORD, channels=(open_channel,))).lines[2]
    assert "fronts + lids" in line
    assert "no filter" in line


def test_left_is_compared_with_right_before_zones_are_compared():
    zones = (
        ZonePolarity(name="fronts"),
        ZonePolarity(name="lids"),
        ZonePolarity(name="centre", is_pair=False),
    )
    assert [x.compare for x in polarity_plan(zones)] == [
        "fronts, left against right",
        "lids, left against right",
        "fronts against lids",
        "lids against centre",
    ]


def test_a_filter_or_a_bass_blocker_in_the_way_is_warned_of():
    plain, filtered = ZonePolarity(name="fronts"), ZonePolarity(name="lids", filtered=True)
    steps = polarity_plan((plain, filtered))
    assert [FOOLED in x.how for x in steps] == [False, True, True]
    assert FOOLED in polarity_plan((replace(plain, bass_blocker=True),))[0].how


def test_one_reversed_speaker_of_two_takes_nearly_all_the_bass():
    assert reversed_cost(2, 1, 1) < -20
    assert -7 < reversed_cost(4, 1, 0.1) < -5


def test_no_more_speakers_are_reversed_than_there_are():
    with pytest.raises(MalformedQuestion) as refused:
        reversed_cost(2, 3, 1)
    assert refused.value.field == "reversed_speakers"
