"""A visit that was written down wrongly is put right, and nothing of what was written before is lost."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from rules.answer import Plan
from rules.build import Placement
from rules.done import FittedPart, PlanChange, TakenOff
from rules.errors import MalformedQuestion
from rules.test_sheet import FilledTestSheet
from service import story
from service.plans.asking import answer_to, left_to_ask
from service.plans.keeper import PlanKeeper
from service.plans.saved import SavedPlan
from service.plans.standing import Standings
from service.plans.trouble import PlanArchived, PlanChanged, UnknownVisit
from service.serving import Serving
from tests.plans.desk import LATER, TODAY, done_as_planned, key, save

SHEET = FilledTestSheet(on=TODAY, by="Odd", rest_v=12.7)
REARS = (
    FittedPart(placement=Placement("tern-52", "rear_pods"), paid=9_900),
    FittedPart(placement=Placement("saltwort-round-blades", "rear_pods"), paid=1_400),
)
OFF = (TakenOff(placement=Placement("skarvane-rear-128", "rear_pods"), fetched=900),)


@pytest.fixture
def done(keeper: PlanKeeper, serving: Serving) -> SavedPlan:
    """A plan of which the first visit was written down as planned."""
    saved = save(keeper, serving)
    return keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)


def anew(keeper: PlanKeeper, serving: Serving, saved: SavedPlan) -> SavedPlan:
    planned = keeper.plan_anew(saved.id, saved.revision, serving, TODAY)
    assert isinstance(planned, SavedPlan)
    return planned


def test_what_was_written_before_stays_in_the_history(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    right = replace(done.done[0], by="Jorun", on=date(2026, 5, 6), others_paid=5_000)
    later = keeper.correct(done.id, 2, 1, right, serving, "the day was wrong")
    assert (later.done[0].by, later.done[0].on, later.done[0].others_paid) == (
        "Jorun",
        date(2026, 5, 6),
        5_000,
    )
    assert later == keeper.get(done.id)
    told = [(x.kind, x.why, x.plan.done[-1].by if x.plan.done else "") for x in keeper.history(done.id)]
    assert told == [("corrected", "the day was wrong", "Jorun"), ("visit_done", "", "Odd"), ("made", "", "")]


def test_the_bike_and_what_is_left_follow_from_what_was_really_fitted(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    later = keeper.correct(
        done.id,
        2,
        1,
        replace(done.done[0], fitted=REARS, removed=OFF, wiring=frozenset()),
        serving,
        "mixed up",
    )
    assert not later.done[0].as_planned
    assert {x.placement.part for x in later.found_now.fitted} == {"tern-52", "saltwort-round-blades"}
    bought = {x.part for visit in anew(keeper, serving, later).plan.visits for x in visit.adds}
    assert "tern-65" in bought
    assert "tern-52" not in bought


def test_its_test_sheet_stays_with_the_visit(keeper: PlanKeeper, serving: Serving, done: SavedPlan) -> None:
    keeper.tested(done.id, 2, 1, SHEET)
    later = keeper.correct(done.id, 3, 1, replace(done.done[0], by="Jorun", sheet=None), serving, "who")
    assert later.done[0].sheet == SHEET


def test_a_serial_number_is_put_right_after_planning_anew_and_the_plan_holds(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    planned = anew(keeper, serving, done)
    fitted = tuple(replace(x, serial="T-77") for x in done.done[0].fitted)
    later = keeper.correct(done.id, 3, 1, replace(done.done[0], fitted=fitted), serving, "misread")
    assert {x.serial for x in later.done[0].fitted} == {"T-77"}
    assert (later.plan, later.question, later.corrected_found) == (planned.plan, planned.question, None)
    assert Standings().of(later, serving, TODAY).word == "holds"


def test_what_was_planned_upon_a_wrong_record_is_told_and_can_be_planned_anew(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    planned = anew(keeper, serving, done)
    other = replace(done.done[0], fitted=REARS, removed=OFF, wiring=frozenset())
    later = keeper.correct(done.id, 3, 1, other, serving, "the rears were done")
    assert (later.plan, later.question) == (planned.plan, planned.question)
    assert {x.placement.part for x in later.found_now.fitted} == {"tern-52", "saltwort-round-blades"}
    assert keeper.get(done.id) == later

    told = Standings().of(later, serving, TODAY)
    expected = answer_to(later, left_to_ask(later, TODAY), Serving.of(serving.release)).plan
    assert isinstance(expected, Plan)
    assert (told.word, told.now) == ("changes", expected.total)

    again = anew(keeper, serving, later)
    assert (again.plan.total, again.corrected_found) == (expected.total, None)
    assert Standings().of(again, serving, TODAY).word == "holds"


def test_of_two_visits_under_two_plans_each_is_put_right(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    planned = anew(keeper, serving, done)
    second = keeper.visit_done(done.id, 3, done_as_planned(planned, 1, LATER), serving)
    keeper.correct(done.id, 4, 2, replace(second.done[1], by="Sunniva"), serving, "who")
    fitted = tuple(replace(x, paid=100) for x in done.done[0].fitted)
    last = keeper.correct(done.id, 5, 1, replace(done.done[0], fitted=fitted), serving, "a gift")
    assert [x.by for x in last.done] == ["Odd", "Sunniva"]
    before, paid = (
        {x.placement: x.paid for x in found.fitted} for found in (second.found_now, last.found_now)
    )
    assert paid == {**before, **{x.placement: 100 for x in fitted}}
    assert last.question == second.question


def test_what_came_off_later_cannot_be_written_away(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    keeper.visit_done(
        done.id,
        2,
        replace(
            done_as_planned(done, 2, LATER),
            fitted=(),
            presets=(),
            removed=(TakenOff(placement=Placement("tern-65", "fairing_pods")),),
        ),
        serving,
    )
    with pytest.raises(MalformedQuestion) as caught:
        keeper.correct(done.id, 3, 1, replace(done.done[0], fitted=(), removed=()), serving, "never fitted")
    assert caught.value.field == "removed.0"
    assert keeper.get(done.id).revision == 3


def test_a_visit_that_never_took_place_is_taken_back(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    later = keeper.take_back(done.id, 2, 1, serving, "the other bike")
    assert (later.done, later.state, later.found_now) == ((), "planned", later.question.found)
    assert [number for number, _ in later.to_come] == [1, 2]
    assert keeper.revision(done.id, 2).plan.done == done.done


def test_a_visit_upon_which_was_planned_is_taken_back_and_that_is_told(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    anew(keeper, serving, done)
    later = keeper.take_back(done.id, 3, 1, serving, "the other bike")
    assert (later.done, later.planned_after) == ((), 0)
    # What is left of the money does not pay for both visits.
    assert Standings().of(later, serving, TODAY).word == "no_path"
    again = keeper.plan_anew(done.id, 4, serving, TODAY, PlanChange(stages=story.PATH.stages))
    assert isinstance(again, SavedPlan)
    assert again.plan.total == save(keeper, serving, "again").plan.total
    assert {x.part for visit in again.plan.visits for x in visit.adds} >= {"tern-65", "tern-52", "fulmar-4"}


def test_only_the_last_visit_is_taken_back(keeper: PlanKeeper, serving: Serving, done: SavedPlan) -> None:
    keeper.visit_done(done.id, 2, done_as_planned(done, 2, LATER), serving)
    with pytest.raises(MalformedQuestion) as caught:
        keeper.take_back(done.id, 3, 1, serving, "never")
    assert caught.value.field == "number"


def test_a_correction_is_refused_like_any_other_change(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    for number in (0, 2):
        with pytest.raises(UnknownVisit):
            keeper.correct(done.id, 2, number, done.done[0], serving, "x")
        with pytest.raises(UnknownVisit):
            keeper.take_back(done.id, 2, number, serving, "x")
    with pytest.raises(PlanChanged):
        keeper.correct(done.id, 1, 1, done.done[0], serving, "x")
    twice = replace(done.done[0], fitted=(*done.done[0].fitted, done.done[0].fitted[0]))
    with pytest.raises(MalformedQuestion):
        keeper.correct(done.id, 2, 1, twice, serving, "x")
    keeper.archive(done.id, 2, away=True)
    with pytest.raises(PlanArchived):
        keeper.take_back(done.id, 3, 1, serving, "x")


def test_a_copy_of_a_plan_that_starts_from_another_bike_knows_it(
    keeper: PlanKeeper, serving: Serving, done: SavedPlan
) -> None:
    anew(keeper, serving, done)
    later = keeper.take_back(done.id, 3, 1, serving, "the other bike")
    copy = keeper.duplicate(done.id, key("copy", "copy")).plan
    assert copy.found_now == later.found_now
