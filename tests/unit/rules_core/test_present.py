"""How a bike may be wired now: what somebody has seen, where it matters, and what it costs to move a plug."""

from __future__ import annotations

import pytest

from rules.answer import Plan
from rules.catalog.rule import Operation
from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import (
    DAY,
    all_of_kind,
    amplifier,
    as_found,
    fit,
    harness,
    power_kit,
    radio,
    rule,
    sends,
    shop,
    speaker,
    takes,
)

REARS_ON = {
    "radio": ("loom:rears", "petrel@rears:terminals"),
    "harness": ("front-harness@dash:rear-end", "petrel@rears:terminals"),
}
FITTED = ("fulmar@tray", "front-harness@dash", "power-kit@battery", "petrel@rears")


def harness_with_rear_plug(*, passes_rears: bool):
    """Give a harness that feeds rears from its own plug; `passes_rears`: through the bike's wires too."""
    links = {"loom-end.front_$side": "amp-end.amp_$side", "rear-end.drive": "amp-end.amp_$side"}
    passed = {"loom-end.rear_$side": "radio-end.rear_$side"} if passes_rears else {}
    plugs = {
        "radio-end": takes("head", "plug", needed=True),
        "loom-end": sends("head", "socket", needed=True),
        "amp-end": takes("amp", "plug", place="tray"),
        "line-end": sends("line", place="tray"),
        "rear-end": sends("pod", paired=True, place="rears"),
    }
    return harness().model_copy(update={"connectors": plugs, "links": {**links, **passed}})


def goods(*, passes_rears: bool):
    move = rule(Operation, "move_rears", subject=all_of_kind("speaker"), action="replug", minutes=12)
    parts = (amplifier(), harness_with_rear_plug(passes_rears=passes_rears), power_kit(), speaker())
    return shop(*parts, radio("deaf-radio", needs="rears-on"), move)


def seen(where: str):
    return as_found(*FITTED, wiring=frozenset({REARS_ON[where]}))


def test_a_plug_that_moves_to_a_new_harness_is_charged_once():
    catalog = goods(passes_rears=False)
    question = PathQuestion(
        bike="curlew",
        stages=(Stage(on=DAY),),
        wants=(Want(parts=("front-harness",)), Want(parts=("fulmar",))),
        found=as_found("petrel@rears"),
    )
    answer = Engine(catalog).path(question)
    assert isinstance(answer, Plan)
    (visit,) = answer.visits
    assert [(x.about, x.of, x.total) for x in visit.lines if x.kind == "labour"] == [
        ("move_rears", "petrel@rears", 1200)
    ]
    assert [x.kind for x in visit.changes if "petrel@rears:terminals" in (x.first, x.second)] == [
        "re-plugged",
        "released",
    ]


def test_a_plug_that_may_stay_is_not_moved():
    catalog = goods(passes_rears=True)
    answer = fit(catalog, "front-harness", found=as_found("fulmar@tray", "power-kit@battery", "petrel@rears"))
    assert "labour" not in {x.kind for x in answer.lines}


def test_where_it_matters_how_the_bike_is_wired_the_plugs_to_look_at_are_named():
    answer = fit(goods(passes_rears=True), "deaf-radio", found=as_found(*FITTED))
    assert answer.verdict == "not_verified"
    assert [x.fact for x in answer.missing] == [
        "wiring.front-harness@dash:rear-end",
        "wiring.loom:rears",
        "wiring.petrel@rears:terminals",
    ]


def test_a_wiring_that_somebody_has_seen_settles_it():
    catalog = goods(passes_rears=True)
    moved = fit(catalog, "deaf-radio", found=seen("radio"))
    stayed = fit(catalog, "deaf-radio", found=seen("harness"))
    assert moved.verdict == stayed.verdict == "fits"
    assert moved.total - stayed.total == 1200


def test_where_it_does_not_matter_nobody_has_to_look():
    assert fit(goods(passes_rears=True), "petrel", "pods", found=as_found(*FITTED)).verdict == "fits"


@pytest.mark.parametrize(
    "mate",
    [("loom:rears", "works-pods@pods:terminals"), ("loom:nowhere", "petrel@rears:terminals"), ("", "")],
)
def test_plugs_that_cannot_be_mated_like_that_are_malformed(mate):
    with pytest.raises(MalformedQuestion) as caught:
        fit(goods(passes_rears=True), "petrel", "pods", found=as_found(*FITTED, wiring=frozenset({mate})))
    assert caught.value.field == "found.wiring"


def test_a_yes_tells_whether_it_moves_a_zone_off_its_channel():
    assert not fit(goods(passes_rears=True), "petrel", "pods", found=seen("harness")).rewires
    swapped = shop(amplifier(), harness(), power_kit(), harness("other-harness"))
    assert fit(swapped, "other-harness", found=as_found(*FITTED[:3])).rewires
