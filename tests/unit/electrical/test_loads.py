"""Nets, amplifiers and margins at the edges of what is known."""

from __future__ import annotations

import pytest

from rules.electrical.amplifier import bridge, power_at_load
from rules.electrical.battery import parked_time
from rules.electrical.impedance import net_impedance
from rules.electrical.margin import cap_voltage
from rules.errors import MalformedQuestion


@pytest.mark.parametrize(
    ("net", "ohms"),
    [
        ("series(4, 4)", 8.0),
        ("parallel( series(4,4), 8 )", 4.0),
        ("parallel(4)", 4.0),
        ("series(2, parallel(4, 4), series(1, 1))", 6.0),
    ],
)
def test_a_net_is_worked_out_from_the_inside(net, ohms):
    assert net_impedance(net) == pytest.approx(ohms)


@pytest.mark.parametrize(
    "net",
    [
        "",
        "4",
        "series",
        "series()",
        "series(4",
        "series(4,)",
        "series(4) 4",
        "series(4, 0)",
        "series(4, 1e9)",
        "bridge(4)",
        "series(-4)",
        "series(4,,4)",
        "series(" * 9 + "4" + ")" * 9,
        "series(4)) ",
        "parallel(\u0664)",
    ],
)
def test_what_is_no_net_is_refused(net):
    with pytest.raises(MalformedQuestion) as caught:
        net_impedance(net)
    assert caught.value.field == "net"


def test_nothing_is_extrapolated_below_the_rated_table():
    found = power_at_load(1.9, (4.0, 2.0), (60.0, 95.0))
    assert (found.power_w, found.stands) == (None, "below")


@pytest.mark.parametrize(
    ("load", "power", "stands"), [(2.0, 95.0, "rated"), (3.0, 95.0, "between"), (8.0, 60.0, "above")]
)
def test_power_into_a_load_is_that_of_the_rating_below_it(load, power, stands):
    found = power_at_load(load, (4.0, 2.0), (60.0, 95.0))
    assert (found.power_w, found.stands) == (power, stands)


@pytest.mark.parametrize(("ohms", "power"), [((4.0, 2.0), (60.0,)), ((4.0, 4.0), (60.0, 70.0))])
def test_a_rated_table_that_contradicts_itself_is_refused(ohms, power):
    with pytest.raises(MalformedQuestion):
        power_at_load(4.0, ohms, power)


def test_a_bridged_pair_below_what_a_channel_may_drive_is_not_allowed_and_has_no_power():
    found = bridge(2.0, 2.0, (4.0, 2.0), (60.0, 95.0))
    assert (found.seen_ohm, found.allowed, found.power_w) == (1.0, False, None)


def test_a_channel_that_gives_just_the_rating_needs_no_cap():
    assert cap_voltage(60.0, (4.0,), (60.0,)).needed is False
    assert cap_voltage(60.1, (4.0,), (60.0,)).needed is True


def test_the_weakest_speaker_sets_the_cap():
    found = cap_voltage(200.0, (4.0, 4.0), (100.0, 25.0))
    assert found.cap_v == pytest.approx(10.0)
    assert found.powers_w == pytest.approx((25.0, 25.0))


def test_ratings_and_speakers_must_be_as_many():
    with pytest.raises(MalformedQuestion) as caught:
        cap_voltage(100.0, (4.0, 4.0), (50.0,))
    assert caught.value.field == "ratings_w"


def test_a_cold_old_battery_may_have_nothing_to_spare():
    found = parked_time(12.0, 8.0, "flooded", 5.0, -10.0)
    assert found.time_h == 0.0
