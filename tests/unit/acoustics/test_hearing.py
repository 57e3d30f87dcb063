"""Wind, music and how long ears may hear them."""

from __future__ import annotations

import pytest

from rules.acoustics.exposure import CALCULATIONS as EXPOSURE
from rules.acoustics.exposure import allowed_hours, noise_dose
from rules.acoustics.listening import CALCULATIONS as LISTENING
from rules.acoustics.listening import listening_time
from rules.acoustics.weighting import a_weighted_level
from rules.acoustics.wind import CALCULATIONS as WIND
from rules.errors import MalformedQuestion

ALL = {x.id: x for x in (*EXPOSURE, *LISTENING, *WIND)}


def test_three_decibels_more_halve_the_time_by_niosh_and_five_by_osha():
    assert allowed_hours(88, "niosh") == 4
    assert allowed_hours(95, "osha") == 4


def test_wind_alone_leaves_less_than_an_hour_at_eighty_kilometres_an_hour():
    found = listening_time(80, 60, 0, "niosh")
    assert found.wind_minutes < 60
    assert found.minutes == pytest.approx(found.wind_minutes, rel=0.01)


def test_music_as_strong_as_the_wind_halves_the_time():
    wind = listening_time(100, 30, 0, "niosh").wind_dba
    found = listening_time(100, wind, 0, "niosh")
    assert found.minutes == pytest.approx(found.wind_minutes / 2, rel=0.01)
    assert found.music_share == pytest.approx(0.5)


def test_earplugs_take_off_wind_and_music_alike():
    bare, plugged = (listening_time(120, 90, x, "niosh") for x in (0, 15))
    assert plugged.minutes == pytest.approx(32 * bare.minutes)
    assert plugged.music_share == pytest.approx(bare.music_share)


def test_nothing_is_said_of_a_speed_that_nobody_measured():
    for speed in (50, 200):
        with pytest.raises(MalformedQuestion, match="speed_kmh is out of range") as refused:
            ALL["wind_noise"].answer(speed_kmh=speed)
        assert "from 64 to 161" in refused.value.cure


def test_a_listening_time_carries_the_cautions_for_ears_and_wind():
    answer = ALL["listening_time"].answer(speed_kmh=100, music_dba=85)
    assert {"hearing", "wind", "controls", "estimate"} <= set(answer.cautions)


def test_a_missing_level_is_named():
    with pytest.raises(MalformedQuestion, match="music_dba is missing"):
        ALL["listening_time"].answer(speed_kmh=100)


def test_a_dose_needs_one_allowed_time_for_each_part():
    with pytest.raises(MalformedQuestion) as refused:
        noise_dose((1, 2), (8,))
    assert refused.value.field == "allowed"


def test_a_spectrum_begins_at_a_named_band_and_ends_at_twenty_kilohertz():
    with pytest.raises(MalformedQuestion) as refused:
        a_weighted_level((80,), 64)
    assert refused.value.field == "lowest_hz"
    with pytest.raises(MalformedQuestion) as refused:
        a_weighted_level((80, 80), 20_000)
    assert refused.value.field == "levels_db"
