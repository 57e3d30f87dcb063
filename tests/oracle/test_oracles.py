"""The reference solvers on cases that a person can work out, on each other, and against the engine."""

from dataclasses import replace
from itertools import combinations

import pytest

from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.condition import Comparison, Fitted, Not, Selector
from rules.catalog.facts import DateSpan
from rules.catalog.rule import (
    ChannelLimit,
    Clearance,
    Hold,
    Operation,
    Requires,
    SupplyLimit,
)
from rules.question import FitQuestion, Stage, Want
from rules.verdict import Verdict
from tests.oracle import compare, paths_brute, verdicts, verdicts_brute
from tests.oracle.draw_parts import UNKNOWN
from tests.oracle.generate import path_instance, verdict_instance
from tests.oracle.reading import World
from tests.oracle.small_shop import (
    AMPLIFIED,
    CHAIN,
    DAY,
    LATER,
    LOWEST,
    SPEAKER_POWER,
    TWO_VISITS,
    adapter,
    amplifier,
    fit,
    fitted,
    harness,
    harness_with_a_rear_plug,
    kit,
    moving_plugs,
    part,
    path,
    preset,
    radio,
    rear_lead,
    rear_on_the_take_off,
    rule,
    shop,
    speaker,
)
from tests.oracle.wirings_brute import wirings, wirings_by_subsets

# Verdicts ------------------------------------------------------------------------------------------


def test_speaker_with_the_loom_plug_fits_as_it_is():
    answer = fit(shop(speaker("better")), "better", place="fairing_pods")
    assert (answer.verdict, answer.cost) == (Verdict.FITS, 1000)


def test_speaker_with_another_plug_fits_with_the_adapter():
    answer = fit(shop(speaker("better", plug="blade"), adapter()), "better")
    assert (answer.verdict, answer.cost) == (Verdict.FITS_WITH, 1500)
    assert answer.extras == (Placement("adapter", "fairing_pods"),)


def test_speaker_with_another_plug_does_not_fit_where_no_adapter_is_sold():
    assert fit(shop(speaker("better", plug="blade")), "better").verdict == Verdict.DOES_NOT_FIT


@pytest.mark.parametrize(
    ("depth", "verdict"),
    [(55.0, Verdict.FITS), (55.5, Verdict.DOES_NOT_FIT), (UNKNOWN, Verdict.NOT_VERIFIED)],
)
def test_depth_decides_at_the_millimetre(depth, verdict):
    deep = rule(
        Clearance,
        "clearance",
        subject=Selector(kind="speaker"),
        spec="depth_mm",
        relation="at_most",
        geometry="depth_mm",
    )
    assert fit(shop(speaker("better", depth=depth), rules=(deep,)), "better").verdict == verdict


def test_two_ohm_speakers_are_below_the_head_units_lowest_impedance():
    low = rule(ChannelLimit, "channel_limit", limit="lowest_impedance")
    assert fit(shop(speaker("better", ohm=2.0), rules=(low,)), "better").verdict == Verdict.DOES_NOT_FIT


def test_amplifier_takes_the_harness_and_the_power_kit_along():
    answer = fit(shop(amplifier(), harness(), kit()), "amp")
    assert (answer.verdict, answer.cost, answer.pieces) == (Verdict.FITS_WITH, 54_000, 2)


def test_amplifier_does_not_fit_where_no_bag_holds_its_fuse():
    fuse = rule(SupplyLimit, "supply_limit", limit="fuse")
    catalog = shop(amplifier(fuse=25.0), harness(), kit(fuses=(15.0, 20.0)), rules=(fuse,))
    assert fit(catalog, "amp").verdict == Verdict.DOES_NOT_FIT


def test_amplifier_above_a_speakers_rating_needs_a_preset_that_caps_it():
    power = rule(ChannelLimit, "channel_limit", limit="speaker_power")
    goods = (amplifier(watts=50.0), harness(), kit())
    assert fit(shop(*goods, rules=(power,)), "amp").verdict == Verdict.DOES_NOT_FIT
    answer = fit(shop(*goods, preset(), rules=(power,)), "amp")
    assert (answer.verdict, answer.cost, answer.pieces) == (Verdict.FITS_WITH, 65_000, 3)


def test_charging_counts_a_third_of_the_power_and_the_idle_current():
    # Four channels of 50 W: 200 / 3 / 0.8 / 13.8 + 1 = 7.04 A.
    charging = rule(SupplyLimit, "supply_limit", limit="charging")
    goods = (amplifier(), harness(), kit())
    assert fit(shop(*goods, rules=(charging,), headroom=7.1), "amp").verdict == Verdict.FITS_WITH
    assert fit(shop(*goods, rules=(charging,), headroom=7.0), "amp").verdict == Verdict.DOES_NOT_FIT
    assert fit(shop(*goods, rules=(charging,), headroom=UNKNOWN), "amp").verdict == Verdict.NOT_VERIFIED


def test_preset_in_force_is_kept_while_its_chain_is_the_same():
    fitted = tuple(
        LedgerEntry(placement=Placement(*one))
        for one in (("amp", "tray"), ("harness", "dash"), ("kit", "battery"))
    )
    catalog = shop(amplifier(), harness(), kit(), preset(), adapter(), speaker("better"), rules=(CHAIN,))
    found = AsFound(fitted=fitted, presets=frozenset(["amp"]))
    assert fit(catalog, "harness", found=found).verdict == Verdict.FITS
    answer = fit(catalog, "better", found=found)
    assert (answer.verdict, answer.cost) == (Verdict.FITS_WITH, 1000 + 5000 + 6000)


def test_requirement_under_an_unknown_condition_stays_open_unless_it_is_met():
    when = Comparison(fact="bike.never_recorded", equals=True)
    needs = rule(
        Requires, "requires", subject=Selector(part=("better",)), needs=Selector(part=("ring",)), when=when
    )
    ring = part("ring", "ring", "ring", 300, at=("fairing_pods",))
    assert fit(shop(speaker("better"), rules=(needs,)), "better").verdict == Verdict.NOT_VERIFIED
    assert fit(shop(speaker("better"), ring, rules=(needs,)), "better").cost == 1300


def test_condition_on_what_is_fitted_looks_at_other_parts_only():
    alone = Not(not_=Fitted(fitted=Selector(kind="speaker")))
    needs = rule(
        Requires, "requires", subject=Selector(kind="speaker"), needs=Selector(kind="ring"), when=alone
    )
    assert fit(shop(speaker("better"), rules=(needs,)), "better").verdict == Verdict.DOES_NOT_FIT


def test_part_on_hold_does_not_fit_but_stays_where_it_is():
    hold = rule(Hold, "hold", subject=Selector(part=("better",)), first=DAY)
    catalog = shop(speaker("better"), rules=(hold,))
    assert fit(catalog, "better").verdict == Verdict.DOES_NOT_FIT
    there = Placement("better", "fairing_pods")
    found = AsFound(
        fitted=(LedgerEntry(placement=there),), removed=frozenset([Placement("stock-front", "fairing_pods")])
    )
    assert fit(catalog, "better", found=found).verdict == Verdict.FITS


def test_new_part_among_unknown_work_is_not_verified():
    found = AsFound(unknown_work=frozenset(["fairing_pods"]))
    catalog = shop(speaker("better"), radio("loud-radio"))
    assert fit(catalog, "better", found=found).verdict == Verdict.NOT_VERIFIED
    assert fit(catalog, "stock-front", found=found).verdict == Verdict.FITS
    # Another head unit feeds the pods where nobody knows what was done.
    assert fit(catalog, "loud-radio", found=found).verdict == Verdict.NOT_VERIFIED


def test_labour_counts_tear_down_once_and_rounds_half_up():
    strip = rule(Operation, "operation", name="strip", minutes=10)
    work = {"minutes": 1, "after": ("strip",)}
    add = rule(Operation, "operation", name="add", subject=Selector(kind="speaker"), action="add", **work)
    take = rule(
        Operation, "operation", name="take", subject=Selector(kind="speaker"), action="remove", **work
    )
    answer = fit(shop(speaker("better"), rules=(strip, add, take), resale={"stock-front": 250}), "better")
    assert answer.cost == 1000 + 1000 + 100 + 100 - 250


def test_bundle_is_bought_where_it_is_cheaper_although_a_member_is_wasted():
    ring = part("ring", "ring", "ring", 300, at=("fairing_pods",))
    bundle = part("set", "bundle", None, 900, members=("better", "ring"))
    assert fit(shop(speaker("better"), ring, bundle), "better").cost == 900


# Plugs that move, and plugs that nobody has seen -----------------------------------------------------


def test_lead_that_moves_to_a_free_plug_of_the_harness_is_paid_for_both():
    goods, found = rear_on_the_take_off()
    catalog = shop(*goods, rules=(SPEAKER_POWER, *moving_plugs("harness")))
    # 1000 for the speaker; the lead and the harness are re-plugged, 1200 each; stripped once, 1000.
    answer = fit(catalog, "delicate", found=found)
    assert (answer.verdict, answer.cost, answer.rewires) == (Verdict.FITS, 1000 + 2 * 1200 + 1000, False)
    assert path(catalog, ["delicate"], found=found) == (4400, 1, 0)
    # Sturdier ones stay on the take-off, and no plug moves.
    assert path(catalog, ["sturdy"], [Stage(on=LATER)], found=found) == (1000, 1, 0)


def test_replug_labour_is_not_wasted_with_the_part_that_it_was_done_for():
    goods, found = rear_on_the_take_off()
    catalog = shop(*goods, rules=(SPEAKER_POWER, *moving_plugs("harness")))
    wants = [Want(parts=("delicate", "sturdy"), by=1), "sturdy"]
    assert path(catalog, wants, TWO_VISITS, found=found) == (4400 + 1000, 2, 1000)


def test_home_fitter_moves_plugs_for_nothing_unless_that_is_shop_work():
    goods, found = rear_on_the_take_off()
    strip, moves = moving_plugs("harness")
    at_home = [Stage(on=DAY, fitter="home")]
    catalog = shop(*goods, rules=(SPEAKER_POWER, strip, moves))
    assert path(catalog, ["delicate"], at_home, found=found) == (1000, 1, 0)
    catalog = shop(*goods, rules=(SPEAKER_POWER, strip, moves.model_copy(update={"home": False})))
    assert path(catalog, ["delicate"], at_home, found=found) is None
    assert fit(catalog, "delicate", fitter="home", found=found).cost == 1000 + 2 * 1200


def test_plug_that_moves_to_a_new_part_is_paid_for_the_part_that_stays():
    goods, _ = rear_on_the_take_off()
    found = AsFound(fitted=fitted(("lead", "tray"), ("rear", "rear_pods")))
    catalog = shop(*goods, rules=(SPEAKER_POWER, *moving_plugs("harness")))
    wants = [Want(parts=("amp",)), Want(parts=("delicate",))]
    # The harness is new and lies between head unit and loom: of what was there only the lead is re-plugged.
    assert path(catalog, wants, found=found) == (54_000 + 1000 + 1200 + 1000, 1, 0)


def test_plug_that_a_part_leaves_behind_has_not_moved():
    # Amplifier and harness go out and fetch 5000; the head unit comes back on the loom, where the harness was between.
    catalog = shop(
        *(amplifier(), harness(), kit(), speaker("new")),
        rules=moving_plugs("head_unit"),
        resale={"amp": 5000},
    )
    gone = frozenset(Placement(*one) for one in AMPLIFIED[:2])
    found = AsFound(fitted=fitted(*AMPLIFIED), wiring=frozenset([("amp@tray:out-1", "harness@dash:amp-end")]))
    allowed = frozenset(["harness"])
    assert path(catalog, ["new"], found=found, may_go=gone, allowed_rewiring=allowed) == (1000 - 5000, 1, 0)


def test_bike_that_may_be_wired_in_two_ways_is_verified_only_once_a_plug_is_seen():
    # The first pair of channels bears two ohms, the second does not; nobody knows which one feeds the pods.
    goods = (amplifier(pairs=((20.0, 2.0), (20.0, 4.0))), harness(), kit(), speaker("low", ohm=2.0))
    catalog = shop(*goods, rules=(LOWEST, *moving_plugs("amplifier")))
    found = AsFound(fitted=fitted(*AMPLIFIED))
    assert fit(catalog, "low", found=found).verdict == Verdict.NOT_VERIFIED
    assert path(catalog, ["low"], found=found) is None
    # What is fed and bought alike in both is answered without a look.
    assert fit(catalog, "amp", found=found).verdict == Verdict.FITS

    first = replace(found, wiring=frozenset([("amp@tray:out-1", "harness@dash:amp-end")]))
    answer = fit(catalog, "low", found=first)
    assert (answer.verdict, answer.cost, answer.rewires) == (Verdict.FITS, 1000, False)
    assert path(catalog, ["low"], found=first) == (1000, 1, 0)

    # On the second pair the plug has to move, which is paid; and a zone on another channel is rewiring.
    second = replace(found, wiring=frozenset([("harness@dash:amp-end", "amp@tray:out-2")]))
    answer = fit(catalog, "low", found=second)
    assert (answer.verdict, answer.cost, answer.rewires) == (Verdict.FITS, 1000 + 1200 + 1000, True)
    assert path(catalog, ["low"], found=second) is None


def test_bike_that_may_be_wired_in_more_than_eight_ways_is_not_verified():
    # Front and rear on any two of four pairs of plugs make twelve.
    amplified = (amplifier(pairs=((20.0, 2.0),) * 4), harness_with_a_rear_plug(), kit(), rear_lead())
    goods = (*amplified, speaker("rear", at=("rear_pods",)), speaker("new"))
    found = AsFound(
        fitted=fitted(*AMPLIFIED, ("lead", "tray"), ("rear", "rear_pods")),
        wiring=frozenset([("lead@tray:head-end", "harness@dash:rear-end")]),
    )
    catalog = shop(*goods)
    assert fit(catalog, "new", found=found).verdict == Verdict.NOT_VERIFIED
    assert path(catalog, ["new"], found=found) is None
    # Three are left once one plug is seen, and none of them makes a difference.
    seen = replace(found, wiring=found.wiring | {("amp@tray:out-3", "harness@dash:amp-end")})
    assert fit(catalog, "new", found=seen).cost == 1000
    assert path(catalog, ["new"], found=seen) == (1000, 1, 0)


# Paths ---------------------------------------------------------------------------------------------


def test_path_for_one_speaker_is_one_visit():
    assert path(shop(speaker("better")), ["better"]) == (1000, 1, 0)


def test_path_waits_for_the_lower_price():
    assert path(shop(speaker("better"), later={"better": 800}), ["better"], TWO_VISITS) == (800, 1, 0)


def test_path_is_split_where_a_visits_budget_is_small():
    tight = (Stage(on=DAY, budget=50_000), Stage(on=LATER, budget=50_000))
    catalog = shop(amplifier(), harness(), kit())
    assert path(catalog, ["amp"], tight) == (54_000, 2, 0)
    assert path(catalog, ["amp"], tight, budget=53_999) is None
    assert path(catalog, ["amp"], tight, year_budgets={2030: 5999, 2031: 47_999}) is None


def test_path_sells_what_it_replaces_and_loses_the_rest():
    early = speaker("early", price=900)
    late = speaker("late", available=DateSpan(first=LATER, last=LATER))
    needs = rule(
        Requires, "requires", subject=Selector(part=("ring",)), needs=Selector(part=("early", "late"))
    )
    ring = part("ring", "ring", "ring", 300, at=("fairing_pods",))
    wants = [Want(parts=("ring",), by=1), "late"]
    catalog = shop(early, late, ring, rules=(needs,), resale={"early": 600})
    # 300 for the ring, 900 for the speaker of the first year, 1000 for the next one, less 600.
    assert path(catalog, wants, TWO_VISITS) == (1600, 2, 300)
    assert path(catalog, wants, (Stage(on=DAY), Stage(on=LATER, budget=999))) is None
    assert path(catalog, wants, (Stage(on=DAY), Stage(on=LATER, budget=400)), resale_counts=True) == (
        1600,
        2,
        300,
    )


def test_harness_once_fitted_is_not_taken_out_unless_that_is_allowed():
    other = harness("other-harness", price=100)
    fitted = tuple(
        LedgerEntry(placement=Placement(*one))
        for one in (("amp", "tray"), ("harness", "dash"), ("kit", "battery"))
    )
    catalog = shop(amplifier(), harness(), kit(), other)
    found = AsFound(fitted=fitted)
    assert path(catalog, ["other-harness"], found=found) is None
    assert path(catalog, ["other-harness"], found=found, allowed_rewiring=frozenset(["harness"])) == (
        100,
        1,
        0,
    )


LIMITS = (
    rule(ChannelLimit, "channel_limit", name="low", limit="lowest_impedance"),
    rule(ChannelLimit, "channel_limit", name="power", limit="speaker_power"),
)


def test_zone_side_keeps_its_channel_while_the_amplifier_stays():
    # The stock speakers bear the first pair only; the new ones are too low for it and need the second.
    amp = amplifier(pairs=((20.0, 4.0), (80.0, 2.0)))
    new = speaker("new", ohm=2.0, rms=90.0, available=DateSpan(first=LATER, last=LATER))
    catalog = shop(amp, harness(), kit(), new, rules=LIMITS)
    sound = Want(parts=("stock-front", "new"), by=1)
    assert path(catalog, [Want(parts=("amp",), by=1), sound, "new"], TWO_VISITS) is None
    assert path(catalog, ["amp", "new"], TWO_VISITS) == (55_000, 1, 0)


@pytest.mark.parametrize(("pairs", "outcome"), [(((20.0, 8.0), (20.0, 4.0)), None), (None, (100, 1, 0))])
def test_new_amplifier_in_the_slot_takes_over_by_the_channels_of_the_same_name(pairs, outcome):
    old = amplifier(pairs=((20.0, 4.0),))
    new = amplifier("other-amp", watts=20.0, price=100, pairs=pairs)
    fitted = [Placement(*one) for one in (("amp", "tray"), ("harness", "dash"), ("kit", "battery"))]
    found = AsFound(fitted=tuple(LedgerEntry(placement=one) for one in fitted))
    catalog = shop(old, harness(), kit(), new, rules=LIMITS)
    kept = frozenset([Placement("stock-front", "fairing_pods")])
    assert path(catalog, ["other-amp"], found=found, locked=kept) == outcome


def test_home_fitter_leaves_shop_work_to_the_shop():
    shop_only = rule(
        Operation, "operation", subject=Selector(kind="speaker"), action="add", minutes=60, home=False
    )
    catalog = shop(speaker("better"), rules=(shop_only,))
    assert path(catalog, ["better"], [Stage(on=DAY, fitter="home")]) is None
    assert path(catalog, ["better"]) == (7000, 1, 0)


def test_preset_is_made_again_after_the_chain_has_changed_and_the_first_one_is_lost():
    late = speaker("late", available=DateSpan(first=LATER, last=LATER))
    catalog = shop(amplifier(), harness(), kit(), preset(), late, rules=(CHAIN,))
    wants = [Want(parts=("amp",), by=1), "late"]
    once = 5000 + 6000
    assert path(catalog, wants, TWO_VISITS) == (54_000 + 1000 + 2 * once, 2, once)


def test_preset_from_home_costs_freight_and_bench_time():
    catalog = shop(amplifier(), harness(), kit(), preset(), rules=(CHAIN,))
    assert path(catalog, ["amp"], [Stage(on=DAY, fitter="home")]) == (54_000 + 5000 + 6000 + 700, 1, 0)


def test_nothing_to_do_is_a_path_without_visits():
    assert path(shop(speaker("better")), ["stock-front"]) == (0, 0, 0)


def test_locked_and_excluded_parts_close_the_path():
    catalog = shop(speaker("better"))
    locked = frozenset([Placement("stock-front", "fairing_pods")])
    assert path(catalog, ["better"], locked=locked) is None
    assert path(catalog, ["better"], excluded=frozenset(["better"])) is None


# Each other, and the engine --------------------------------------------------------------------------


def possible_mates(world, build):
    return [pair for pair in combinations(world.nodes(build), 2) if world.mate(*pair)]


@pytest.mark.parametrize("number", range(8))
def test_following_feeds_finds_the_same_wirings_as_trying_every_set_of_mates(number):
    instance = path_instance(number)
    world = World(instance.catalog, instance.question.bike, instance.question.found)
    builds = paths_brute.Search(world, instance.question).builds
    # Twelve possible mates make 4096 sets of them to try.
    small = [build for build in builds if len(build) >= 4 and len(possible_mates(world, build)) <= 12]
    assert small
    for build in small[-6:]:
        assert wirings(world, build) == wirings_by_subsets(world, build)


@pytest.mark.parametrize("number", range(40))
def test_verdict_is_the_same_for_the_engine_and_both_oracles(number):
    result = compare.compare_verdict(number, verdict_instance(7_000_000 + number), engine=True)
    assert result.agree, result.said


@pytest.mark.parametrize("number", range(15))
def test_path_is_the_same_for_the_engine_and_both_oracles(number):
    result = compare.compare_path(number, path_instance(7_000_000 + number), engine=True)
    assert result.agree, result.said


def test_a_bike_that_stands_unsoundly_teaches_nothing_until_something_is_done():
    # The rear pair, of 15 W, is on the radio's 20 W. What sound wirings feed was held against the empty first visit.
    result = compare.compare_path(98, path_instance(1_000_098), engine=True)
    assert result.agree, result.said
    assert result.said["engine"] == (31_913, 1, 0)


def test_generator_draws_the_same_instance_twice():
    assert verdict_instance(3) == verdict_instance(3)
    assert path_instance(3) == path_instance(3)


def test_enumerating_oracle_gives_up_nothing_on_a_part_that_cannot_be_placed():
    catalog = shop(speaker("better"))
    question = FitQuestion(bike="plover", part="better", place="dash", on=DAY)
    assert verdicts_brute.judge(catalog, question).verdict == Verdict.DOES_NOT_FIT
    assert verdicts.judge(catalog, question).verdict == Verdict.DOES_NOT_FIT
