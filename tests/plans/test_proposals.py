"""From a brief to systems: each answers what was said, rests on something, and differs from the others."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rules.answer import Plan
from rules.build import STOCK, AsFound, LedgerEntry, Placement
from rules.calculations.registry import CALCULATIONS
from rules.catalog.part import OwnPart
from rules.cautions import PRACTICE
from rules.errors import MalformedQuestion, UnknownBike
from rules.proposals import Brief, Proposals, Reason, propose
from rules.proposals.system import MOST_ASKED, System, systems_for
from rules.question import Stage
from service import story
from service.serving import Serving
from tests.plans.desk import TODAY

BRIEF = Brief(
    bike=story.BIKE,
    found=STOCK,
    stages=(Stage(on=TODAY, budget=60_000), Stage(on=date(2027, 4, 5))),
    rides="fast",
    passenger="never",
    listens=frozenset({"music", "low_notes"}),
    annoys=frozenset({"distorts"}),
    parked=True,
)
ZONES = frozenset({"fronts", "rears", "lids", "lowers", "bass"})


@pytest.fixture(scope="module")
def proposals(serving: Serving) -> Proposals:
    return propose(serving.engine, BRIEF)


def test_there_are_three_at_most_and_no_two_are_the_same(serving: Serving, proposals: Proposals) -> None:
    assert 2 <= len(proposals.proposals) <= 3
    parts = serving.catalog.parts
    what = [
        frozenset(
            x
            for x in one.plan.visits[-1].build
            if parts[x.part].kind in ("speaker", "amplifier", "head_unit")
        )
        for one in proposals.proposals
    ]
    assert len(set(what)) == len(what)
    assert len({one.name for one in proposals.proposals}) == len(what)


def test_each_is_the_cheapest_path_within_the_money_of_today(serving: Serving, proposals: Proposals) -> None:
    totals = [one.plan.total for one in proposals.proposals]
    assert totals == sorted(totals)
    for one in proposals.proposals:
        assert one.plan.visits[0].spent <= 60_000
        assert serving.engine.path(one.question) == one.plan


def test_each_is_named_by_what_it_is(serving: Serving, proposals: Proposals) -> None:
    parts = serving.catalog.parts
    for one in proposals.proposals:
        kinds = {parts[x.part].kind for x in one.stays}
        assert ("amplifier" in kinds) == ("amplifier" in one.name.lower()) == one.system.amplified
        zones = {serving.catalog.places[x.place].zone for x in one.stays if parts[x.part].speaker}
        assert zones == set(one.system.zones)


def reasons(proposals: Proposals) -> list[Reason]:
    return [reason for one in proposals.proposals for reason in one.reasons]


def test_every_reason_rests_on_a_calculation_a_rule_or_stated_practice(
    serving: Serving, proposals: Proposals
) -> None:
    known = {"calculation": set(CALCULATIONS), "rule": set(serving.catalog.rules), "practice": {PRACTICE}}
    for reason in reasons(proposals):
        assert reason.cites in known[reason.basis], reason
        assert bool(reason.source) == (reason.basis == "calculation"), reason
    assert {reason.basis for reason in reasons(proposals)} == set(known)


def test_more_level_is_never_the_reason(proposals: Proposals) -> None:
    for reason in reasons(proposals):
        for word in ("louder", "decibel", "dB", "more power", "best", "better", "premium"):
            assert word not in reason.says, reason.says


def test_what_the_rider_said_is_answered(proposals: Proposals) -> None:
    answered = {field for reason in reasons(proposals) for field in reason.answers}
    assert answered >= {"rides", "annoys", "listens"}


def test_a_brief_that_misses_something_says_what_to_ask(serving: Serving) -> None:
    found = propose(serving.engine, Brief(bike=story.BIKE))
    assert [x.field for x in found.unasked] == ["found", "rides", "passenger", "listens", "visits"]
    assert all(x.ask.endswith("?") for x in found.unasked)
    assert found.proposals == ()
    partly = propose(serving.engine, replace(BRIEF, passenger=None))
    assert [x.field for x in partly.unasked] == ["passenger"]


def test_an_unknown_bike_or_function_is_a_mistake(serving: Serving) -> None:
    with pytest.raises(UnknownBike):
        propose(serving.engine, replace(BRIEF, bike="gadwal-2018-grand"))
    with pytest.raises(MalformedQuestion) as caught:
        propose(serving.engine, replace(BRIEF, functions=("time-travel",)))
    assert caught.value.field == "functions.0"


def test_no_money_is_told_for_each_system_that_was_looked_for(serving: Serving) -> None:
    poor = replace(BRIEF, stages=(Stage(on=TODAY, budget=100),), parked=False)
    found = propose(serving.engine, poor)
    assert found.proposals == ()
    assert 1 <= len(found.not_proposed) <= MOST_ASKED
    assert not any(isinstance(x.answer, Plan) for x in found.not_proposed)


@pytest.mark.parametrize(
    ("change", "first", "third"),
    [
        ({}, ("fronts",), ("fronts", "bass")),
        ({"passenger": "often"}, ("fronts", "rears"), ("fronts", "rears", "bass")),
        ({"listens": frozenset({"speech"})}, ("fronts",), ("fronts", "rears")),
        (
            {"annoys": frozenset({"passenger_hears_nothing"}), "listens": frozenset({"music"})},
            ("fronts", "rears"),
            ("fronts", "rears", "lids"),
        ),
    ],
)
def test_zones_follow_what_was_said(
    change: dict[str, object], first: tuple[str, ...], third: tuple[str, ...]
) -> None:
    found = systems_for(replace(BRIEF, **change), ZONES)  # type: ignore[arg-type]
    assert (found[0], found[1]) == (System(zones=first, amplified=False), System(zones=first, amplified=True))
    assert found[2].zones == third
    assert len(set(found)) == len(found) <= MOST_ASKED


def test_a_zone_that_the_bike_has_not_is_not_proposed() -> None:
    found = systems_for(replace(BRIEF, passenger="often"), frozenset({"fronts"}))
    assert {x.zones for x in found} == {("fronts",)}


def test_a_riders_own_part_at_a_place_that_nobody_knows_is_refused(serving: Serving) -> None:
    like = serving.catalog.parts["tern-52"].model_dump(
        exclude_none=True, exclude={"warranty_months", "lead_days", "stock_only", "members"}
    )
    own = OwnPart.model_validate({**like, "id": "own-1", "at": ("nowhere",)})
    found = AsFound(fitted=(LedgerEntry(placement=Placement("own-1", "nowhere")),), own_parts=(own,))
    with pytest.raises(MalformedQuestion) as caught:
        propose(serving.engine, replace(BRIEF, found=found))
    assert caught.value.field.startswith("found.own_parts.0")
