"""Parts on a rider's bike that the catalog does not know."""

from __future__ import annotations

import pytest

from rules.answer import Plan
from rules.catalog.connector import Connector
from rules.catalog.part import OwnPart
from rules.catalog.rule import ChannelLimit, Clearance, MassLimit, PresetChain, Requires
from rules.engine import Engine
from rules.errors import MalformedQuestion, UnknownPart
from rules.explain import sentence
from rules.own_parts import widened
from rules.question import CarryOverQuestion, CartQuestion, FitQuestion, PathQuestion, Stage, Want
from rules.verdict import Verdict
from tests.unit.catalogs import (
    DAY,
    UNKNOWN,
    all_of_kind,
    amplifier,
    as_found,
    fit,
    flash,
    harness,
    one,
    part,
    power_kit,
    radio,
    ring,
    rule,
    shop,
    speaker,
    takes,
)

LOADS = rule(ChannelLimit, "overloaded", limit="lowest_impedance")
DEEP = rule(
    Clearance,
    "too_deep",
    subject=all_of_kind("speaker"),
    spec="depth_mm",
    relation="at_most",
    geometry="depth_mm",
)
CHAIN = rule(PresetChain, "chain", subject=all_of_kind("amplifier"))
EIDER = speaker("eider", ohm=2.0)
GONE = (one("works-pods@pods"),)


def with_eider(own=EIDER, **more):
    """Give a bike whose fronts the rider has replaced by a pair of his own."""
    return as_found("eider@pods", removed=GONE, own_parts=(own,), **more)


def planned(catalog, want: Want) -> Plan:
    """Plan one visit for a bike with the rider's own speakers."""
    stages = (Stage(on=DAY),)
    plan = Engine(catalog).path(PathQuestion(bike="curlew", stages=stages, wants=(want,), found=with_eider()))
    assert isinstance(plan, Plan)
    return plan


def refused(catalog, found, **more) -> MalformedQuestion:
    with pytest.raises(MalformedQuestion) as caught:
        fit(catalog, "spacer-ring", **{"place": "pods", "found": found, **more})
    return caught.value


def test_own_speakers_load_the_radio_like_any_others():
    catalog = shop(LOADS, ring(), radio(lowest=4.0, stock_only=True))
    answer = fit(catalog, "spacer-ring", "pods", found=with_eider())
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert {x.rule for x in answer.findings} == {"overloaded"}


def test_own_speakers_that_are_sound_do_not_stand_in_the_way():
    answer = fit(shop(LOADS, DEEP, ring()), "spacer-ring", "pods", found=with_eider())
    assert answer.verdict is Verdict.FITS


def test_an_unknown_figure_of_an_own_part_is_named_with_how_to_measure_it():
    found = with_eider(speaker("eider", ohm=UNKNOWN))
    answer = fit(shop(LOADS, ring()), "spacer-ring", "pods", found=found)
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert {(x.fact, x.of, x.value) for x in answer.missing} == {("part.impedance_ohm", "eider", UNKNOWN)}


def test_a_dimension_that_nobody_gave_of_an_own_part_is_missing_too():
    found = with_eider(speaker("eider", spec={}))
    answer = fit(shop(DEEP, ring()), "spacer-ring", "pods", found=found)
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert {(x.fact, x.of) for x in answer.missing} == {("part.depth_mm", "eider")}


def test_a_mass_that_nobody_gave_of_an_own_part_is_not_taken_for_nothing():
    mass = rule(MassLimit, "too_heavy", at=("pods",), fact="pods_limit_kg")
    own = OwnPart.model_validate(EIDER.model_dump(exclude={"mass_kg"}))
    measured = {"facts.pods_limit_kg": 3.0}
    answer = fit(shop(mass, ring()), "spacer-ring", "pods", found=with_eider(own, measured=measured))
    assert answer.verdict is Verdict.NOT_VERIFIED
    assert {(x.fact, x.of) for x in answer.missing} == {("part.mass_kg", "eider")}


def test_rules_select_own_parts_by_kind_and_tag():
    needs = rule(Requires, "wants_ring", subject=all_of_kind("speaker"), needs=all_of_kind("ring"))
    answer = fit(shop(needs, ring(), flash()), "rear-flash", "dash", found=with_eider())
    assert [str(x) for x in answer.extras] == ["spacer-ring@pods"]


def test_nobody_sells_an_own_part_and_it_fetches_nothing():
    plan = planned(shop(speaker()), Want(parts=("petrel",), place="pods"))
    assert [str(x) for x in plan.visits[0].removes] == ["eider@pods"]
    assert (plan.resale, plan.total) == (0, 1000)


def test_an_own_part_stays_where_nothing_wanted_takes_its_place():
    plan = planned(shop(speaker()), Want(parts=("petrel",), place="rears"))
    assert one("eider@pods") in plan.visits[-1].build


def test_asking_about_an_own_part_where_it_is_asks_whether_the_bike_is_sound():
    assert fit(shop(DEEP), "eider", found=with_eider()).verdict is Verdict.FITS
    assert fit(shop(DEEP), "eider", "pods", found=with_eider()).verdict is Verdict.FITS


def test_an_own_part_is_on_this_bike_or_nowhere():
    engine = Engine(shop())
    with pytest.raises(MalformedQuestion) as caught:
        engine.fit(FitQuestion(bike="curlew", part="eider", place="rears", on=DAY, found=with_eider()))
    assert caught.value.field == "found.fitted"
    want = Want(parts=("eider",), place="rears")
    with pytest.raises(MalformedQuestion):
        engine.cart(CartQuestion(bike="curlew", wants=(want,), on=DAY, found=with_eider()))


def test_the_next_rider_hears_nothing_of_it():
    engine = Engine(shop(LOADS, ring(), radio(lowest=4.0, stock_only=True)))
    before = engine.fit(FitQuestion(bike="curlew", part="spacer-ring", place="pods", on=DAY))
    engine.fit(FitQuestion(bike="curlew", part="spacer-ring", place="pods", on=DAY, found=with_eider()))
    after = engine.fit(FitQuestion(bike="curlew", part="spacer-ring", place="pods", on=DAY))
    assert before == after
    with pytest.raises(UnknownPart):
        engine.fit(FitQuestion(bike="curlew", part="eider", on=DAY))


def test_own_speakers_go_on_to_the_next_bike():
    question = CarryOverQuestion(bike="curlew", next_bike="curlew", on=DAY, found=with_eider())
    (carried,) = Engine(shop()).carry_over(question).parts
    assert (carried.part, carried.answer, carried.to_place, carried.resale) == ("eider", "as_is", "pods", 0)


def test_sentences_call_an_own_part_by_its_name():
    found = with_eider(speaker("eider", ohm=UNKNOWN))
    catalog = shop(LOADS, ring())
    answer = fit(catalog, "spacer-ring", "pods", found=found)
    assert "of Eider" in sentence(answer.findings[0], widened(catalog, found.own_parts))


# --- amplifiers that no preset is made for -------------------------------------------------------------------------

SYSTEM = ("dunlin@tray", "front-harness@dash", "power-kit@battery")


def with_dunlin(*more, **known):
    """Give a bike with an amplifier of the rider's own, set up for the stock speakers."""
    return as_found(*SYSTEM, *more, own_parts=(amplifier("dunlin"),), **{"presets": ("dunlin",), **known})


GOODS = (CHAIN, harness(), power_kit(), ring(), speaker(), flash(), flash("plain-flash", tag="plain"))


def test_an_own_amplifier_keeps_its_preset_while_its_chain_is_the_same():
    assert fit(shop(*GOODS), "spacer-ring", "pods", found=with_dunlin()).verdict is Verdict.FITS
    assert fit(shop(*GOODS), "petrel", "rears", found=with_dunlin()).verdict is Verdict.FITS


def test_a_flash_without_plugs_belongs_to_the_chain_that_is_in_force():
    found = with_dunlin("plain-flash@dash")
    assert fit(shop(*GOODS), "spacer-ring", "pods", found=found).verdict is Verdict.FITS


@pytest.mark.parametrize(("name", "place"), [("petrel", "pods"), ("plain-flash", "dash")])
def test_nobody_makes_a_preset_for_an_own_amplifier_so_its_chain_cannot_change(name, place):
    answer = fit(shop(*GOODS), name, place, found=with_dunlin())
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert {x.rule for x in answer.findings} == {"preset_not_offered"}


def test_an_own_amplifier_without_a_preset_makes_the_bike_unsound():
    answer = fit(shop(*GOODS), "spacer-ring", "pods", found=with_dunlin(presets=()))
    assert {x.rule for x in answer.findings} == {"preset_not_offered"}


# --- descriptions that are wrong -----------------------------------------------------------------------------------


def plugged(**plug):
    plugs = {"terminals": takes("pod", paired=True, needed=True), "tail": Connector(gender="plug", **plug)}
    return EIDER.model_copy(update={"connectors": plugs})


@pytest.mark.parametrize(
    ("own", "field", "code"),
    [
        (speaker("spacer-ring"), "found.own_parts.0.id", "duplicate-id"),
        (speaker("eider", tags=("flet",)), "found.own_parts.0.tags.0", "unknown-tag"),
        (part("eider", "grille", "gril"), "found.own_parts.0.slot", "unknown-slot"),
        (speaker("eider", at=("pod",)), "found.own_parts.0.at.0", "unknown-place"),
        (speaker("eider", at=("dash",)), "found.own_parts.0.at.0", "slot-not-there"),
        (speaker("eider", host=("nobody",)), "found.own_parts.0.host.0", "unknown-part"),
        (speaker("eider", spec={"depth": 50.0}), "found.own_parts.0.spec", "missing-unit"),
        (plugged(map="podd"), "found.own_parts.0.connectors.map", "unknown-contact-map"),
        (
            speaker("eider", links={"tail.drive": "terminals.drive"}),
            "found.own_parts.0.links",
            "unknown-connector",
        ),
        (part("eider", "speaker", "speaker"), "found.own_parts.0", "missing-detail"),
        (speaker("eider", supply=amplifier().supply), "found.own_parts.0.supply", "stray-detail"),
    ],
)
def test_an_own_part_is_checked_as_parts_of_a_catalog_are(own, field, code):
    error = refused(shop(ring()), as_found(own_parts=(own,)))
    assert error.field == field
    assert error.cure.endswith(f"({code})")


def test_two_own_parts_of_one_name_are_one_too_many():
    error = refused(shop(ring()), as_found(own_parts=(EIDER, EIDER)))
    assert error.field == "found.own_parts.1.id"


def test_own_parts_may_live_in_one_another():
    box = part("holm-box", "head_unit", "head_unit", channels=radio().channels, connectors=radio().connectors)
    found = as_found(
        "holm-box@dash",
        "holm-flash@dash",
        removed=(one("works-radio@dash"),),
        own_parts=(box, flash("holm-flash", host="holm-box", tag="rears-on")),
    )
    assert fit(shop(ring(), flash()), "spacer-ring", "pods", found=found).verdict is Verdict.FITS
