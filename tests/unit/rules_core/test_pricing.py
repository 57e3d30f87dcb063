"""What a visit costs."""

from __future__ import annotations

from collections import Counter
from datetime import date, timedelta

import pytest

from rules.catalog.condition import Comparison
from rules.catalog.facts import DateSpan
from rules.catalog.rule import Hold, Operation
from rules.money import total
from rules.pricing import Doings, Pricer
from tests.unit.catalogs import (
    DAY,
    NEXT_YEAR,
    all_of_kind,
    amplifier,
    bench,
    bike,
    bundle,
    one,
    only,
    placed,
    preset,
    prices,
    ring,
    rule,
    shop,
    speaker,
)


def pricer(*goods, **more):
    return Pricer(bench(shop(*goods, **more)))


def visit(*adds, removes=(), presets=(), on=DAY, fitter="shop"):
    return Doings(
        on=on, fitter=fitter, adds=placed(*adds), removes=placed(*removes), presets=placed(*presets)
    )


def told(lines):
    return [(x.kind, x.about, x.total) for x in lines]


def operation(name, minutes, **more):
    return rule(Operation, name, minutes=minutes, **more)


def test_prices_of_many_days_are_forgotten_and_stay_the_same(monkeypatch):
    monkeypatch.setattr("rules.pricing.PRICES_KEPT", 5)
    one_by_one = pricer(speaker(), ring())
    days = [DAY + timedelta(days) for days in range(8)]
    visits = [visit("petrel@pods", "spacer-ring@pods", on=on) for on in (*days, *days)]
    assert [told(one_by_one.lines(x)) for x in visits] == [
        told(pricer(speaker(), ring()).lines(x)) for x in visits
    ]
    assert len(one_by_one._prices) <= 5
    assert len(one_by_one._lists) <= 5


# Purchases ------------------------------------------------------------------------------------------


def test_two_like_parts_are_one_line():
    assert told(pricer(speaker()).lines(visit("petrel@pods", "petrel@rears"))) == [("part", "petrel", 2000)]


@pytest.mark.parametrize(
    ("price", "line"), [(1999, ("bundle", "set", 1999)), (2001, ("part", "petrel", 1000))]
)
def test_a_bundle_is_bought_where_it_is_cheaper_than_its_members(price, line):
    lines = pricer(speaker(), ring(), bundle("set", "petrel", "spacer-ring"), price={"set": price}).lines(
        visit("petrel@pods", "spacer-ring@pods")
    )
    assert line in told(lines)


def test_a_bundle_is_bought_whole_even_for_one_of_its_members():
    lines = pricer(speaker(), ring(), bundle("set", "petrel", "spacer-ring"), price={"set": 900}).lines(
        visit("petrel@pods")
    )
    assert told(lines) == [("bundle", "set", 900)]


def test_a_bundle_may_be_bought_twice():
    here = pricer(speaker(), ring(), bundle("set", "petrel", "spacer-ring"), price={"set": 1500})
    found = here.cover(Counter({"petrel": 2, "spacer-ring": 2}), DAY)
    assert told(found) == [("bundle", "set", 1500), ("bundle", "set", 1500)]


def test_bundles_that_share_a_member_are_weighed_against_each_other():
    goods = (
        speaker(),
        ring(),
        amplifier(),
        bundle("small", "petrel", "spacer-ring"),
        bundle("large", "petrel", "fulmar"),
    )
    found = pricer(*goods, price={"small": 1200, "large": 1500}).cover(
        Counter({"petrel": 1, "spacer-ring": 1, "fulmar": 1}), DAY
    )
    assert total(found) == 2200


def test_a_bundle_s_price_is_shared_in_proportion_to_the_single_prices():
    here = pricer(
        speaker(),
        ring(),
        bundle("set", "petrel", "spacer-ring"),
        price={"petrel": 900, "spacer-ring": 100, "set": 805},
    )
    assert here.bundle_shares("set", DAY) == {"petrel": 725, "spacer-ring": 81}


def test_what_is_not_for_sale_cannot_be_quoted():
    assert pricer(speaker(stock_only=True)).lines(visit("petrel@pods")) is None


@pytest.mark.parametrize(
    ("on", "sold"),
    [
        (date(2030, 5, 9), False),
        (date(2030, 5, 10), True),
        (date(2030, 5, 20), True),
        (date(2030, 5, 21), False),
    ],
)
def test_a_part_is_sold_on_the_days_on_which_it_is_available(on, sold):
    span = DateSpan(first=date(2030, 5, 10), last=date(2030, 5, 20))
    assert (pricer(speaker(available=span)).price("petrel", on) is not None) is sold


def test_a_part_on_hold_has_no_price():
    held = rule(Hold, "held", subject=only("petrel"), first=DAY)
    assert pricer(speaker(), held).price("petrel", DAY) is None


# Lists ------------------------------------------------------------------------------------------

LISTS = (
    prices("spring", date(2030, 1, 1), date(2030, 6, 30), {"petrel": 1000}, resale={"petrel": 300}),
    prices("autumn", date(2030, 7, 1), date(2030, 12, 31), {"petrel": 1100}, labour_per_hour=6600),
)


@pytest.mark.parametrize(
    ("on", "price"),
    [
        (date(2029, 12, 31), None),
        (date(2030, 6, 30), (1000, False)),
        (date(2030, 7, 1), (1100, False)),
        (date(2031, 1, 1), (1100, True)),
    ],
)
def test_the_list_in_force_counts_and_the_last_one_is_carried_on_as_assumed(on, price):
    assert pricer(speaker(), lists=LISTS).price("petrel", on) == price


def test_assumed_prices_are_marked_on_the_lines():
    work = operation("fit_pods", 60, subject=all_of_kind("speaker"), action="add")
    lines = pricer(speaker(), work, lists=LISTS).lines(visit("petrel@pods", on=NEXT_YEAR))
    assert [(x.kind, x.total, x.assumed) for x in lines] == [("part", 1100, True), ("labour", 6600, True)]


def test_a_removed_part_is_sold_at_what_the_list_in_force_pays():
    here = pricer(speaker(), lists=LISTS)
    assert told(here.lines(visit(removes=["petrel@rears"]))) == [("resale", "petrel", -300)]
    assert told(here.lines(visit(removes=["petrel@rears"], on=date(2030, 7, 1)))) == []


# Labour ------------------------------------------------------------------------------------------

SEAT = operation("seat_off", 6)
SCREEN = operation("screen_off", 10, after=("seat_off",))
PODS = operation("fit_speakers", 30, subject=all_of_kind("speaker"), action="add", after=("screen_off",))
TRAY = operation(
    "fit_amplifier", 40, subject=all_of_kind("amplifier"), action="add", after=("seat_off",), home=False
)
OUT = operation("take_out", 5, subject=all_of_kind("speaker"), action="remove", after=("seat_off",))
TUNING = operation("tune", 12, subject=all_of_kind("amplifier"), action="preset", home=False)
WORK = (SEAT, SCREEN, PODS, TRAY, OUT, TUNING)


def labour(doings):
    lines = pricer(speaker(), amplifier(), preset(), *WORK).lines(doings)
    return [(x.about, x.of) for x in lines if x.kind == "labour"]


def test_tear_down_is_shared_and_reached_through_what_comes_before_it():
    assert labour(visit("petrel@pods", "fulmar@tray")) == [
        ("fit_amplifier", "fulmar@tray"),
        ("fit_speakers", "petrel@pods"),
        ("screen_off", ""),
        ("seat_off", ""),
    ]


def test_work_on_a_part_counts_for_each_part():
    assert [x for x, _ in labour(visit("petrel@pods", "petrel@rears"))].count("fit_speakers") == 2


def test_taking_a_part_out_is_its_own_work():
    assert [x for x, _ in labour(visit(removes=["works-pods@pods"]))] == ["seat_off", "take_out"]


def test_a_home_fitter_is_charged_only_for_the_workshop_s_own_work():
    assert labour(visit("petrel@pods", fitter="home")) == []
    assert labour(visit("petrel@pods", "fulmar@tray", fitter="home")) == [("fit_amplifier", "fulmar@tray")]


def test_a_preset_at_home_is_made_in_the_workshop_with_freight_once():
    here = pricer(amplifier(), amplifier("skua"), preset(amplifiers=("fulmar", "skua")), *WORK)
    both = visit(presets=["fulmar@tray", "skua@tray"], fitter="home")
    assert [x.kind for x in here.lines(both)].count("freight") == 1
    assert told(here.lines(visit(presets=["fulmar@tray"]))) == [
        ("labour", "tune", 1200),
        ("preset", "bench-preset", 1000),
        ("labour", "bench-preset", 3000),
    ]


def test_the_cheapest_service_counts_with_its_time_at_the_bench():
    quick, slow = preset("quick", minutes=5), preset("slow", minutes=60)
    here = pricer(amplifier(), quick, slow, price={"quick": 2000, "slow": 1000})
    assert here.service(one("fulmar@tray"), DAY) == "quick"


@pytest.mark.parametrize(("hinge", "done"), [("long", True), ("short", False), (None, True)])
def test_work_is_done_where_its_condition_holds_or_nobody_knows(hinge, done):
    when = Comparison(fact="bike.hinge", equals="long")
    work = operation("prop_lid", 5, subject=all_of_kind("speaker"), action="add", when=when)
    here = pricer(speaker(), work, on=bike(facts={} if hinge is None else {"hinge": hinge}))
    lines = here.lines(visit("petrel@pods"))
    assert ("prop_lid" in [x.about for x in lines]) is done
