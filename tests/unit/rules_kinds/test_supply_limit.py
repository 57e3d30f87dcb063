"""Supply limits: fuse, cable, voltage drop, and what the charging system has to spare."""

from __future__ import annotations

import pytest

from rules.catalog.rule import SupplyLimit
from rules.kinds import supply_limit
from rules.kinds.supply_limit import Supplied
from rules.things import advise
from rules.verdict import Status, Verdict
from tests.unit.catalogs import (
    UNKNOWN,
    amplifier,
    bench,
    bike,
    fit,
    harness,
    one,
    placed,
    power_kit,
    rule,
    scene,
    shop,
    with_stock,
)

FUSE = rule(SupplyLimit, "wrong_fuse", limit="fuse")
CABLE = rule(SupplyLimit, "cable_too_thin", limit="ampacity")
DROP = rule(SupplyLimit, "too_much_drop", limit="voltage_drop", most=0.5)
CHARGING = rule(SupplyLimit, "charging_too_weak", limit="charging")
IDLE = rule(SupplyLimit, "weak_at_idle", limit="idle")


def asked(law, amp=None, kit=None, **facts):
    """Ask for an amplifier on a kit."""
    goods = (amp or amplifier(), kit or power_kit(), harness())
    return fit(shop(*goods, law, on=bike(facts=facts)), "fulmar", "tray").verdict


@pytest.mark.parametrize(
    ("fuse", "verdict"),
    [
        (20.0, Verdict.FITS_WITH),
        (30.0, Verdict.FITS_WITH),
        (25.0, Verdict.DOES_NOT_FIT),
        (30.1, Verdict.DOES_NOT_FIT),
        (UNKNOWN, Verdict.NOT_VERIFIED),
    ],
)
def test_the_maker_s_fuse_is_in_the_bag(fuse, verdict):
    assert asked(FUSE, amplifier(fuse=fuse)) is verdict


@pytest.mark.parametrize(
    ("ampacity", "verdict"),
    [(20.0, Verdict.FITS_WITH), (19.9, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_a_fuse_is_at_most_what_the_cable_carries(ampacity, verdict):
    assert asked(FUSE, kit=power_kit(ampacity=ampacity)) is verdict


@pytest.mark.parametrize(
    ("full", "verdict"),
    [(40.0, Verdict.FITS_WITH), (40.1, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_a_cable_carries_the_full_output_current(full, verdict):
    assert asked(CABLE, amplifier(full=full)) is verdict


# 2 x 0.0178 x 2.5 m x 45 A / 8 mm2 = 0.500625 V
@pytest.mark.parametrize(
    ("full", "verdict"),
    [(44.9, Verdict.FITS_WITH), (45.0, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_the_voltage_lost_on_the_way_stays_below_the_limit(full, verdict):
    assert asked(DROP, amplifier(full=full), power_kit(area=8.0, length=2.5)) is verdict


@pytest.mark.parametrize("kit", [power_kit(length=UNKNOWN), power_kit(area=UNKNOWN)])
def test_a_cable_of_unknown_length_or_area_is_left_open(kit):
    assert asked(DROP, kit=kit) is Verdict.NOT_VERIFIED


# 1 A idle + 2 x 50 W / 3 / 0.8 / 13.8 V = 4.0193 A
@pytest.mark.parametrize(
    ("headroom", "verdict"),
    [(4.02, Verdict.FITS_WITH), (4.01, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_the_charging_system_has_the_current_at_cruise_to_spare(headroom, verdict):
    assert asked(CHARGING, charging_headroom_a=headroom) is verdict


@pytest.mark.parametrize(
    "amp", [amplifier(idle=UNKNOWN), amplifier(efficiency=UNKNOWN), amplifier(watts=UNKNOWN)]
)
def test_an_amplifier_whose_draw_is_unknown_is_left_open_and_says_which_figure_is_missing(amp):
    law = CHARGING
    catalog = shop(amp, power_kit(), harness(), law, on=bike(facts={"charging_headroom_a": 99.0}))
    answer = fit(catalog, "fulmar", "tray")
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert answer.missing


@pytest.mark.parametrize(("headroom", "cautions"), [(4.02, []), (4.01, ["weak_at_idle"]), (UNKNOWN, [])])
def test_a_deficit_at_idle_is_a_caution_and_no_refusal(headroom, cautions):
    facts = {"idle_headroom_a": headroom}
    goods = (amplifier(), power_kit(), harness(), IDLE)
    assert asked(IDLE, **facts) is Verdict.FITS_WITH
    here = bench(shop(*goods, on=bike(facts=facts)))
    found = advise(here, with_stock("fulmar@tray"))
    assert [x.rule for x in found if x.status is Status.CAUTION] == cautions


def two_on_a_kit(law, first, second, kit=None):
    """Judge two amplifiers on one kit."""
    goods = (first, second, kit or power_kit(takes_up_to=2), law)
    here = scene(shop(*goods), "skua@tray", "tern@tray", "power-kit@battery")
    supplied = Supplied(kit=one("power-kit@battery"), amplifiers=(one("skua@tray"), one("tern@tray")))
    return list(supply_limit.check_kit(law, here, supplied))


def test_the_fuses_of_two_amplifiers_add_up_to_one_in_the_bag():
    assert not two_on_a_kit(FUSE, amplifier("skua", fuse=10.0), amplifier("tern", fuse=20.0))
    (finding,) = two_on_a_kit(FUSE, amplifier("skua", fuse=10.0), amplifier("tern", fuse=15.0))
    assert finding.present == placed("skua@tray", "tern@tray", "power-kit@battery")
    assert [x.fact for x in finding.causes] == ["part.fuse_a", "part.fuse_a", "part.fuses_a"]


def test_only_the_hungriest_amplifiers_that_exceed_a_cable_are_blamed():
    (finding,) = two_on_a_kit(CABLE, amplifier("skua", full=5.0), amplifier("tern", full=41.0))
    assert finding.present == placed("tern@tray", "power-kit@battery")
    assert [(x.fact, x.of) for x in finding.causes] == [
        ("part.full_a", "tern"),
        ("part.ampacity_a", "power-kit"),
    ]


def test_a_known_amplifier_that_is_too_much_refuses_whatever_the_other_draws():
    (finding,) = two_on_a_kit(CABLE, amplifier("skua", full=UNKNOWN), amplifier("tern", full=41.0))
    assert finding.status is Status.REFUSED


def test_while_a_fuse_is_unknown_the_bag_must_still_have_a_larger_one():
    (open_one,) = two_on_a_kit(FUSE, amplifier("skua", fuse=UNKNOWN), amplifier("tern", fuse=25.0))
    (refused,) = two_on_a_kit(FUSE, amplifier("skua", fuse=UNKNOWN), amplifier("tern", fuse=30.0))
    assert (open_one.status, refused.status) == (Status.UNKNOWN, Status.REFUSED)


def test_a_refusal_of_the_charging_system_names_every_figure_behind_the_current():
    law = CHARGING
    here = scene(shop(amplifier(), law, on=bike(facts={"charging_headroom_a": 1.0})), "fulmar@tray")
    (finding,) = supply_limit.check_charging(law, here)
    assert [x.fact for x in finding.causes] == [
        "part.idle_a",
        "part.efficiency",
        "part.channels.left.watts",
        "part.channels.right.watts",
        "facts.charging_headroom_a",
    ]


def test_a_bike_without_amplifiers_needs_no_headroom():
    assert not list(supply_limit.check_charging(CHARGING, scene(shop(CHARGING), "works-radio@dash")))
