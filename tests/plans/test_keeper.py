"""Saved plans: whole or not at all, never overwritten unseen, and the same years later, on either kind of database."""

from __future__ import annotations

import threading
from dataclasses import replace
from datetime import date

import pytest
from sqlalchemy import select

from rules.answer import NoPlan, Plan
from rules.build import Placement
from rules.done import FittedPart, PlanChange, TakenOff
from rules.errors import MalformedQuestion, UnknownPart
from rules.question import Stage, Want
from rules.release import Release
from rules.test_sheet import FilledTestSheet
from service import story
from service.plans.keeper import Kept, PlanKeeper
from service.plans.recording import knows
from service.plans.saved import NewRider, SavedPlan
from service.plans.trouble import (
    KeyUsedOtherwise,
    PlanArchived,
    PlanChanged,
    UnknownPlan,
    UnknownRevision,
    UnknownRider,
    UnknownShare,
)
from service.serving import Serving
from service.store.database import Database
from service.store.schema import metadata
from tests.plans.desk import AT, LATER, RIDER, TODAY, done_as_planned, key, save

SHEET = FilledTestSheet(on=TODAY, by="Odd", rest_v=12.7, idle_v=13.1, raised_v=14.2, signed_by="Odd")


def test_what_was_saved_is_given_back_with_its_release_and_day(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    again = keeper.get(saved.id)
    assert again == saved
    assert (again.question, again.plan) == (story.PATH, serving.engine.path(story.PATH))
    assert (again.pinned.release, again.pinned.on, again.revision) == (serving.name, TODAY, 1)
    assert again.rider is not None
    assert (again.rider.name, again.state) == (RIDER.name, "planned")


def test_a_question_without_a_path_saves_nothing(keeper: PlanKeeper, serving: Serving) -> None:
    poor = replace(story.PATH, budget=1)
    assert isinstance(keeper.make(poor, serving, TODAY, key()), NoPlan)
    assert keeper.listed(10) == []


def test_who_sends_the_same_key_again_makes_no_second_plan(keeper: PlanKeeper, serving: Serving) -> None:
    first = keeper.make(story.PATH, serving, TODAY, key(), rider=RIDER)
    again = keeper.make(story.PATH, serving, TODAY, key(), rider=RIDER)
    assert isinstance(first, Kept)
    assert isinstance(again, Kept)
    assert (first.is_new, again.is_new, again.plan.id) == (True, False, first.plan.id)
    assert len(keeper.listed(10)) == 1
    with pytest.raises(KeyUsedOtherwise):
        keeper.make(story.PATH, serving, TODAY, key(asked="another story"))


def test_who_changes_what_somebody_else_changed_is_told_and_nothing_is_done(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    with pytest.raises(PlanChanged):
        keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    assert [x.number for x in keeper.history(saved.id)] == [2, 1]


def test_of_many_who_change_a_plan_at_once_one_does(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    done, late = list[int](), list[int]()

    def archive(number: int) -> None:
        try:
            keeper.archive(saved.id, 1, away=True, why=str(number))
            done.append(number)
        except PlanChanged:
            late.append(number)

    threads = [threading.Thread(target=archive, args=[number]) for number in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(done), len(late)) == (1, 5)
    assert [x.why for x in keeper.history(saved.id)] == [str(done[0]), ""]


def test_of_many_who_send_the_same_key_at_once_all_are_given_one_plan(
    keeper: PlanKeeper, serving: Serving
) -> None:
    made = list[str]()

    def duplicate() -> None:
        made.append(keeper.duplicate(saved.id, key("copy", "copy")).plan.id)

    saved = save(keeper, serving)
    threads = [threading.Thread(target=duplicate) for _ in range(6)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert (len(made), len(set(made)), len(keeper.listed(10))) == (6, 1, 2)


def test_the_bike_after_a_visit_is_what_was_really_fitted(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    after = keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    assert after.state == "under_way"
    assert after.is_as_planned
    fitted = {entry.placement: entry for entry in after.found_now.fitted}
    speaker = fitted[Placement("tern-65", "fairing_pods")]
    assert (speaker.paid, speaker.fitted_on, speaker.fitter) == (14_600, TODAY, "shop")
    assert after.found_now.removed == (Placement("skarvane-pod-155", "fairing_pods"),)
    assert after.done[0].paid == saved.plan.visits[0].spent
    assert after.done[0].fetched == saved.plan.visits[0].resale
    assert after.done[0].fitted[1].warranty_months == serving.catalog.parts["tern-65"].warranty_months


def test_what_is_left_costs_after_a_visit_as_planned_what_the_plan_said(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    anew = keeper.plan_anew(saved.id, 2, serving, TODAY)
    assert isinstance(anew, SavedPlan)
    assert anew.plan.total == saved.plan.total - saved.plan.visits[0].spent + saved.plan.visits[0].resale
    assert anew.plan.visits[0].adds == saved.plan.visits[1].adds
    assert (anew.planned_after, anew.revision, anew.done_here) == (1, 3, ())
    assert keeper.get(saved.id) == anew


def test_a_visit_done_otherwise_is_kept_as_it_was_done(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    other = replace(
        done_as_planned(saved, 1, TODAY),
        fitted=(
            FittedPart(placement=Placement("tern-52", "rear_pods"), paid=9_900),
            FittedPart(placement=Placement("saltwort-round-blades", "rear_pods"), paid=1_400),
        ),
        removed=(TakenOff(placement=Placement("skarvane-rear-128", "rear_pods"), fetched=900),),
    )
    after = keeper.visit_done(saved.id, 1, other, serving)
    assert not after.is_as_planned
    anew = keeper.plan_anew(saved.id, 2, serving, TODAY)
    assert isinstance(anew, SavedPlan)
    bought = {placed.part for visit in anew.plan.visits for placed in visit.adds}
    assert "tern-65" in bought
    assert "tern-52" not in bought


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"visit": 3}, "visit"),
        ({"fitted": (FittedPart(placement=Placement("skarvane-pod-155", "fairing_pods")),)}, "fitted.0"),
        ({"removed": (TakenOff(placement=Placement("tern-52", "rear_pods")),)}, "removed.0"),
    ],
)
def test_a_visit_that_cannot_have_been_is_refused(
    keeper: PlanKeeper, serving: Serving, change: dict[str, object], field: str
) -> None:
    saved = save(keeper, serving)
    wrong = replace(done_as_planned(saved, 1, TODAY), **change)  # type: ignore[arg-type]
    if "fitted" in change:
        wrong = replace(wrong, removed=())
    with pytest.raises(MalformedQuestion) as caught:
        keeper.visit_done(saved.id, 1, wrong, serving)
    assert caught.value.field == field
    assert keeper.get(saved.id).revision == 1


def test_a_change_is_planned_anew_with_less_money_and_one_part_more(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    change = PlanChange(
        stages=(Stage(on=TODAY), Stage(on=date(2028, 4, 3))),
        wants=(Want(parts=("tern-65",), place="fairing_pods"),),
        now=("tern-65",),
    )
    anew = keeper.plan_anew(saved.id, 1, serving, TODAY, change)
    assert isinstance(anew, SavedPlan)
    assert anew.question.wants == (Want(parts=("tern-65",), place="fairing_pods", by=1),)
    assert [x.is_empty for x in anew.plan.visits] == [False, True]
    assert anew.plan.total < saved.plan.total


def test_nothing_is_changed_where_there_is_no_other_path(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    assert isinstance(keeper.plan_anew(saved.id, 1, serving, TODAY, PlanChange(budget=1)), NoPlan)
    assert keeper.get(saved.id) == saved


def test_a_test_sheet_is_kept_with_its_visit_and_so_is_the_one_before_it(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    keeper.tested(saved.id, 2, 1, replace(SHEET, signed_by=""))
    keeper.tested(saved.id, 3, 1, SHEET)
    assert keeper.get(saved.id).done[0].sheet == SHEET
    assert keeper.revision(saved.id, 3).plan.done[0].sheet == replace(SHEET, signed_by="")


def test_a_plan_that_is_put_away_is_not_changed_until_it_is_taken_up(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.archive(saved.id, 1, away=True)
    with pytest.raises(PlanArchived):
        keeper.plan_anew(saved.id, 2, serving, TODAY)
    assert [x.id for x in keeper.listed(10, archived=False)] == []
    keeper.archive(saved.id, 2, away=False)
    assert isinstance(keeper.plan_anew(saved.id, 3, serving, TODAY), SavedPlan)


def test_a_copy_is_the_plan_as_it_was_planned_and_nobodys(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    copy = keeper.duplicate(saved.id, key("copy", "copy")).plan
    assert (copy.question, copy.plan, copy.done, copy.rider) == (saved.question, saved.plan, (), None)
    assert copy.id != saved.id


def test_a_plan_moves_to_the_next_bike_with_the_parts_and_the_old_one_is_put_away(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    change = PlanChange(stages=(Stage(on=LATER),), wants=(Want(parts=("tern-65",)),))
    kept = keeper.move(saved.id, 2, story.NEXT_BIKE, serving, TODAY, key("move", "move"), change=change)
    assert isinstance(kept, Kept)
    moved = kept.plan
    assert moved.bike == story.NEXT_BIKE
    assert moved.moved is not None
    assert [x.part for x in moved.moved.own] == ["tern-65"]
    assert (moved.moved.plan, moved.moved.bike, moved.rider) == (saved.id, saved.bike, saved.rider)
    assert keeper.get(saved.id).archived_at == AT
    anew = keeper.plan_anew(moved.id, 1, serving, TODAY)
    assert isinstance(anew, SavedPlan)
    assert (anew.plan.total, anew.moved) == (moved.plan.total, moved.moved)


def test_a_move_that_comes_too_late_leaves_both_plans_alone(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    with pytest.raises(PlanChanged):
        keeper.move(saved.id, 1, story.NEXT_BIKE, serving, TODAY, key("move", "move"))
    assert [x.id for x in keeper.listed(10)] == [saved.id]


def test_plans_are_found_by_a_piece_of_the_riders_name(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    keeper.duplicate(saved.id, key("copy", "copy"))
    assert [x.id for x in keeper.listed(10, text="TANG")] == [saved.id]
    assert [x.id for x in keeper.listed(10, text="%")] == []
    keeper.name_rider(saved.id, 1, NewRider(name="Åse Østerøy"))
    for word in ("åse", "Åse", "ØSTER", "øster"):
        assert [x.id for x in keeper.listed(10, text=word)] == [saved.id], word
    first, second = keeper.listed(10)
    assert [x.id for x in keeper.listed(10, after=first.id)] == [second.id]


def test_a_riders_data_is_given_out_whole_and_then_forgotten(
    database: Database, keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    keeper.name_rider(saved.id, 1, NewRider(name=RIDER.name, contact="+00 5550 1234"))
    rider = keeper.get(saved.id).rider
    assert rider is not None
    known, plans = keeper.riders.exported(rider.id)
    assert (known.contact, [x.number for x in plans[0]]) == ("+00 5550 1234", [2, 1])
    keeper.riders.erase(rider.id)
    assert keeper.get(saved.id).rider is None
    with pytest.raises(UnknownRider):
        keeper.riders.exported(rider.id)
    with database.reading() as connection:
        everything = [str(connection.execute(select(table)).all()) for table in metadata.sorted_tables]
    # Longer than any run of digits that a random id holds by chance.
    told = ("Tangen", "strand.example", "+00 5550 1234")
    assert not [text for text in everything if any(word in text for word in told)]


def test_a_link_reads_the_plan_until_it_ends_or_is_withdrawn(
    database: Database, keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    share, secret = keeper.sharing.make(saved.id, days=30)
    assert keeper.sharing.read(secret)[1] == saved
    with database.reading() as connection:
        everything = [str(connection.execute(select(table)).all()) for table in metadata.sorted_tables]
    assert not [text for text in everything if secret in text]
    late = replace(keeper, now=lambda: share.ends_at)
    with pytest.raises(UnknownShare):
        late.sharing.read(secret)
    keeper.sharing.withdraw(saved.id, share.id)
    for wrong in (secret, secret[:-1], ""):
        with pytest.raises(UnknownShare):
            keeper.sharing.read(wrong)
    with pytest.raises(UnknownShare):
        keeper.sharing.withdraw(saved.id, share.id)


def test_what_is_not_there_is_told_and_nothing_is_suggested(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    near = saved.id[:-1] + ("0" if saved.id[-1] != "0" else "1")
    with pytest.raises(UnknownPlan) as caught:
        keeper.get(near)
    assert caught.value.nearest == ()
    with pytest.raises(UnknownRevision):
        keeper.revision(saved.id, 2)
    with pytest.raises(UnknownRider):
        keeper.make(story.PATH, serving, TODAY, key("other"), rider="nobody")
    plan = keeper.get(saved.id).plan
    assert isinstance(plan, Plan)


def test_a_release_says_whether_it_has_what_was_fitted(keeper: PlanKeeper, serving: Serving) -> None:
    saved = save(keeper, serving)
    done = done_as_planned(saved, 1, TODAY)
    assert knows(serving, saved.bike, done)
    later = without(serving, "tern-65")
    assert not knows(later, saved.bike, done)
    assert not knows(serving, "no-such-bike", done)
    with pytest.raises(UnknownPart):
        keeper.visit_done(saved.id, 1, done, later)


def without(serving: Serving, part: str) -> Serving:
    """A later release that does not have a part any more."""
    left = {x: y for x, y in serving.catalog.parts.items() if x != part}
    return Serving.of(Release.of(replace(serving.catalog, parts=left)))


def test_a_visit_is_written_down_and_put_right_though_what_was_fitted_before_is_not_sold_any_more(
    keeper: PlanKeeper, serving: Serving
) -> None:
    saved = save(keeper, serving)
    first = keeper.visit_done(saved.id, 1, done_as_planned(saved, 1, TODAY), serving)
    second = keeper.visit_done(saved.id, 2, done_as_planned(first, 2, LATER), without(serving, "tern-65"))
    right = replace(second.done[1], by="Sunniva")
    last = keeper.correct(saved.id, 3, 2, right, without(serving, "tern-65"), "who")
    assert [x.by for x in last.done] == ["Odd", "Sunniva"]
    assert last.done[1].presets[0].serial == "F4-00123"
