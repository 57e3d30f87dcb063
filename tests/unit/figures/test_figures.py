"""Every visit of a plan carries its figures, or says which fact is missing. On the demo catalog's own rider."""

from __future__ import annotations

import json
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from rules.answer import Plan
from rules.build import AsFound, Measured
from rules.calculations.registry import CALCULATIONS
from rules.cautions import BY_ID
from rules.electrical.supply import voltage_drop
from rules.engine import Engine
from rules.figures import Known, VisitFigure, VisitFigures, visit_figures
from rules.figures.figure import figure, merged
from rules.load import load_catalog
from rules.verdict import Cause
from service import story
from service.serving import Serving
from service.settings import DEMO_CATALOG
from service.shapes.paths import PathTold
from tests.contract.whole import demo_release

AGED = replace(
    story.PATH, found=AsFound(measured=(Measured(path="facts.battery_age_years", value=3.0, by="Imke"),))
)


@cache
def engine() -> Engine:
    return Engine(load_catalog(Path(DEMO_CATALOG)))


@cache
def planned(*, aged: bool) -> tuple[Plan, tuple[VisitFigures, ...]]:
    question = AGED if aged else story.PATH
    plan = engine().path(question)
    assert isinstance(plan, Plan)
    return plan, engine().figures(question, plan)


def one(figures: VisitFigures, asked: str, about: str) -> VisitFigure:
    return next(x for x in figures.all if x.calculation == asked and any(about in y for y in x.about))


def test_every_visit_has_electrical_sound_and_preset_figures() -> None:
    _, visits = planned(aged=True)
    for figures in visits:
        assert figures.electrical
        assert figures.mass
        assert figures.sound
        assert figures.presets
        assert figures.polarity
        assert figures.labour
        assert figures.warranty


@pytest.mark.parametrize("aged", [True, False])
def test_what_is_not_verified_says_why(aged: bool) -> None:
    _, visits = planned(aged=aged)
    for x in (x for figures in visits for x in figures.all):
        assert x.is_verified != bool(x.missing or x.why), x
        assert x.is_verified or x.result is None


def test_every_input_has_a_fact_with_its_source_or_says_where_it_is_from() -> None:
    _, visits = planned(aged=True)
    for x in (x for figures in visits for x in figures.all):
        for given in x.inputs:
            if given.known.value is not None:
                assert given.known.causes or given.known.stated, (x.calculation, given.name)


def test_figures_name_calculations_and_cautions_that_exist() -> None:
    _, visits = planned(aged=True)
    for figures in visits:
        assert {x.calculation for x in figures.all} <= set(CALCULATIONS)
        assert {x for one in figures.all for x in one.cautions} <= set(figures.cautions) <= set(BY_ID)
        assert list(figures.cautions) == [x for x in BY_ID if x in figures.cautions]


def test_age_of_the_battery_is_asked_for_and_never_guessed() -> None:
    _, (_, second) = planned(aged=False)
    assert [cause.fact for cause in one(second, "parked_time", "parked").missing] == [
        "facts.battery_age_years"
    ]
    _, (_, known) = planned(aged=True)
    assert one(known, "parked_time", "parked").is_verified


def test_channel_that_would_give_a_speaker_too_much_is_capped_at_the_voltage_of_its_rating() -> None:
    _, (_, second) = planned(aged=True)
    margin = one(second, "rms_margin", "tern-52@rear_pods")
    assert margin.result == pytest.approx(45 - 60)
    assert margin.limit
    assert not margin.limit.stands
    assert one(second, "cap_voltage", "pair2_left").result == pytest.approx((45 * 4) ** 0.5)
    assert one(second, "gain", "pair2_left").result == pytest.approx((45 * 4) ** 0.5)


def test_load_is_held_against_the_least_that_the_channel_may_drive() -> None:
    _, (_, second) = planned(aged=True)
    load = one(second, "parallel_impedance", "pair1_left")
    assert load.limit
    assert (load.result, load.limit.value, load.limit.relation, load.limit.stands) == (4, 2, "at_least", True)


def test_drop_along_the_power_lead_is_the_one_that_the_rule_judges() -> None:
    _, (_, second) = planned(aged=True)
    drop = one(second, "lead_drop", "thrift")
    assert drop.result == pytest.approx(float(voltage_drop(34, 1.8, 10)))
    assert drop.limit
    assert drop.limit.stands


def test_cruise_current_is_the_one_that_the_rule_judges() -> None:
    plan, (_, second) = planned(aged=True)
    idle = next(
        x for x in plan.visits[1].advice if x.calculation and x.calculation.equation == "cruise_current"
    )
    assert idle.calculation
    drawn = one(second, "supply_currents", "fulmar-4").figures["third_a"].value
    assert drawn == pytest.approx(idle.calculation.result)


def test_label_of_a_preset_tells_channels_gains_and_what_voids_it() -> None:
    _, (first, second) = planned(aged=True)
    assert first.labels == ()
    (label,) = second.labels
    assert label.amplifier.part == "fulmar-4"
    text = "\n".join(label.lines)
    for words in (
        "pair2 left: rears, 4 ohm, 13.4 V, from 125 Hz",
        "set 2027-04-05",
        "void with",
        "serial ____",
    ):
        assert words in text


def test_polarity_is_checked_left_against_right_before_zones() -> None:
    _, (_, second) = planned(aged=True)
    assert [step.compare for step in second.polarity] == [
        "fronts, left against right",
        "rears, left against right",
        "fronts against rears",
    ]


def test_work_of_two_is_no_longer_than_of_one_and_no_shorter_than_half() -> None:
    plan, visits = planned(aged=True)
    for visit, figures in zip(plan.visits, visits, strict=True):
        (work,) = figures.labour
        minutes = sum(line.quantity for line in visit.lines if line.kind == "labour")
        assert work.result == minutes
        elapsed = work.figures["elapsed_two"].value
        assert isinstance(elapsed, int)
        assert minutes / 2 <= elapsed <= minutes


def test_warranty_runs_from_the_visit_that_fits_the_part() -> None:
    _, (_, second) = planned(aged=True)
    assert one(second, "warranty_end", "fulmar-4").result == "2030-04-05"


def test_visit_without_work_has_no_figures() -> None:
    plan, _ = planned(aged=True)
    idle = replace(plan.visits[0], adds=(), removes=(), presets=())
    assert engine().figures(AGED, replace(plan, visits=(idle,))) == (VisitFigures(),)


def test_zones_on_the_same_channels_are_told_that_they_cannot_be_set_apart() -> None:
    plan, (_, second) = planned(aged=True)
    assert second.shared == ()
    moved = tuple(replace(x, channel=x.channel.replace("pair2", "pair1")) for x in plan.visits[1].feeds)
    bench = engine().desk(story.BIKE).bench
    figures = visit_figures(bench, replace(plan.visits[1], feeds=moved))
    (shared,) = figures.shared
    assert shared.zones == ("fronts", "rears")
    assert "fader" in shared.says
    load = one(figures, "parallel_impedance", "pair1_left")
    assert (load.result, one(figures, "power_at_load", "pair1_left").result) == (2, 95)
    assert one(figures, "gain", "pair1_left").figures["limited_by"].value == "speakers"


def test_missing_fact_is_named_and_figures_that_need_it_are_not_verified() -> None:
    nobody = Cause(fact="part.rms_w", of="x", value=None)
    found = figure(
        "x", "rms_margin", {"power_w": Known(value=10.0), "rating_w": Known(value=None, causes=(nobody,))}
    )
    assert not found.is_verified
    assert found.missing == (nobody,)
    after = figure("y", "power_gain", {"power_w": found.known()})
    assert after.missing == (nobody,)


def test_figure_out_of_range_is_not_verified_and_says_so() -> None:
    found = figure("x", "power_gain", {"power_w": Known(value=-1.0)})
    assert not found.is_verified
    assert "out of range" in found.why


def test_limit_that_nobody_knows_leaves_a_figure_open() -> None:
    nobody = Cause(fact="part.channels.a.min_ohm", of="x", value=None)
    load = figure("x", "parallel_impedance", {"impedances_ohm": Known(value=(4.0, 4.0))})
    assert load.held(Known(value=None, causes=(nobody,)), "at_least").missing == (nobody,)


def test_what_is_the_same_on_both_sides_is_told_once() -> None:
    left, right = (figure(x, "power_gain", {"power_w": Known(value=10.0)}) for x in ("left", "right"))
    assert [x.about for x in merged((left, right))] == [("left", "right")]


def test_the_answer_in_json_has_all_figures_of_every_visit() -> None:
    plan, _ = planned(aged=True)
    serving = Serving(release=demo_release(), engine=engine())
    told = json.loads(PathTold.from_domain(plan, AGED, serving).model_dump_json())
    for visit in told["plan"]["visits"]:
        figures = visit["figures"]
        for group in ("electrical", "sound", "presets"):
            assert figures[group]
            for x in figures[group]:
                assert (x["status"] == "verified") != bool(x["missing"] or x["why"])
        assert figures["cautions"]
