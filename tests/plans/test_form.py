"""What is written of a plan is read again as it was: every kind of question, bike as found, and visit that was done."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from datetime import date
from typing import Any

import pytest
import schemathesis
from hypothesis import Phase, given, reject, seed, settings
from pydantic import ValidationError

from rules.answer import Plan
from rules.build import STOCK, AsFound, LedgerEntry, Measured, Placement
from rules.catalog.facts import Unknown
from rules.done import FittedPart, PresetSet, TakenOff, VisitDone
from rules.errors import MalformedQuestion
from rules.question import PathQuestion, Stage, Want
from rules.test_sheet import ChannelReading, FilledTestSheet, PolarityHeard
from service import story
from service.plans.form import from_content, question_asked, read_question, to_content
from service.plans.saved import Moved, Pinned, SavedPlan
from service.serving import Serving
from service.shapes.own_parts import OwnPartAsked
from service.shapes.plans import PlanSaveAsked
from tests.contract.canned import CannedEngine
from tests.contract.keeping import QUIET
from tests.contract.small import small_app, small_release
from tests.plans.desk import AT, TODAY

OWN = OwnPartAsked.model_validate(
    {
        "id": "eider-pair",
        "name": "Eider pair, said to be good",
        "kind": "speaker",
        "slot": "speaker",
        "at": ["rear_pods"],
        "spec": {
            "depth_mm": 48,
            "basket_mm": {"unknown": "measure across the rim"},
            "sealed": True,
            "colours": ["red"],
        },
        "connectors": {
            "terminals": {
                "map": "blades",
                "gender": "socket",
                "mirrored": True,
                "paired": True,
                "needed": True,
            }
        },
        "speaker": {"impedance_ohm": 4, "rms_w": {"unknown": "look on the magnet"}},
        "source": {"kind": "measured", "ref": "on our bench", "date": "2026-04-30"},
    }
).to_domain()

FOUND = AsFound(
    fitted=(
        LedgerEntry(placement=Placement("eider-pair", "rear_pods"), paid=0),
        LedgerEntry(placement=Placement("tern-65", "fairing_pods"), fitted_on=TODAY, fitter="home"),
    ),
    removed=(Placement("skarvane-rear-128", "rear_pods"), Placement("skarvane-pod-155", "fairing_pods")),
    presets=("fulmar-4", "a-knot"),
    unknown_work=frozenset({"lids", "dash"}),
    measured=(
        Measured(path="places.rear_pods.geometry.depth_mm", value=61.5, by="Odd", on=TODAY, photo="17"),
        Measured(path="facts.a", value=False),
        Measured(path="facts.b", value=("one", "two")),
        Measured(path="facts.c", value="text"),
        Measured(path="facts.d", value=Unknown(unknown="weigh it")),
    ),
    wiring=frozenset({("loom:front", "tern-65@fairing_pods:terminals")}),
    own_parts=(OWN,),
)

QUESTION = PathQuestion(
    bike=story.BIKE,
    stages=(Stage(on=TODAY, fitter="home", budget=0), Stage(on=date(2027, 4, 5))),
    wants=(
        Want(parts=("tern-65", "tern-52"), place="rear_pods", by=2),
        Want(
            zone="fronts",
            kind="speaker",
            functions=("tweeter",),
            lines=("tern",),
            colour="red",
            most_kg=1.5,
            least_w=20.0,
        ),
    ),
    found=FOUND,
    budget=0,
    year_budgets={2027: 90_000, 2026: 0},
    resale_counts=True,
    excluded=frozenset({"tern-25", "fulmar-2"}),
    locked=frozenset({Placement("tern-65", "fairing_pods")}),
    allowed_rewiring=frozenset({"marram-sk16-4"}),
    may_go=frozenset({Placement("skarvane-rear-128", "rear_pods")}),
    colour="red",
    most_added_kg=0.0,
)

DONE = VisitDone(
    visit=1,
    on=TODAY,
    fitter="shop",
    by="Odd",
    fitted=(FittedPart(placement=Placement("a", "b"), paid=0, serial="1", warranty_months=24),),
    removed=(TakenOff(placement=Placement("c", "d"), fetched=5),),
    presets=(
        PresetSet(amplifier=Placement("e", "f"), serial="2", made_on=TODAY, made_by="Odd", volume_step=23),
    ),
    others_paid=7,
    wiring=frozenset({("loom:front", "a@b:c")}),
    as_planned=False,
    sheet=FilledTestSheet(
        on=TODAY,
        by="Odd",
        rest_v=12.7,
        channels=(ChannelReading(source=Placement("e", "f"), channel="left", measured_v=8.7),),
        polarity=(PolarityHeard(compare="fronts", heard="turned"),),
        steers_freely=False,
        photos=("17",),
        notes="ø",
        signed_by="Odd",
        signed_on=TODAY,
    ),
)


def test_every_field_of_a_question_is_in_this_test() -> None:
    plain = PathQuestion(bike="", stages=(), wants=())
    assert not [x.name for x in fields(PathQuestion) if getattr(QUESTION, x.name) == getattr(plain, x.name)]
    assert not [x.name for x in fields(AsFound) if getattr(FOUND, x.name) == getattr(STOCK, x.name)]
    empty = Want()
    named = [
        x.name
        for x in fields(Want)
        if any(getattr(w, x.name) != getattr(empty, x.name) for w in QUESTION.wants)
    ]
    assert named == [x.name for x in fields(Want)]


@pytest.mark.parametrize("question", [QUESTION, story.PATH], ids=["everything", "the story"])
def test_a_question_is_read_as_it_was_written(question: PathQuestion) -> None:
    asked = question_asked(question)
    again = read_question(json.loads(json.dumps(asked)))
    assert again.found.own_parts == question.found.own_parts
    assert again == question
    assert question_asked(again) == asked


def plans() -> list[Plan]:
    engine = CannedEngine(small_release().catalog)
    canned = engine.path(
        PathQuestion(
            bike="bittern-2019-plain", stages=(Stage(on=TODAY),), wants=(Want(parts=("curlew-slim",)),)
        )
    )
    assert isinstance(canned, Plan)
    return [canned]


def saved(plan: Plan, question: PathQuestion) -> SavedPlan:
    return SavedPlan(
        id="p",
        revision=3,
        question=question,
        plan=plan,
        pinned=Pinned(release="r-1.2.h3", on=TODAY),
        done=(DONE,),
        planned_after=1,
        moved=Moved(plan="q", bike="b", found=FOUND, own=(Placement("a", "b"),), fetched=3),
        made_at=AT,
        changed_at=AT,
    )


def again(plan: SavedPlan) -> SavedPlan:
    about = {x: getattr(plan, x) for x in ("id", "revision", "rider", "archived_at", "made_at", "changed_at")}
    return from_content(to_content(plan), **about)


def test_a_plan_with_everything_that_an_answer_can_hold_is_read_as_it_was_written() -> None:
    for plan in plans():
        written = saved(plan, QUESTION)
        assert again(written) == written


def test_a_plan_of_the_demo_is_read_as_it_was_written(serving: Serving) -> None:
    plan = serving.engine.path(story.PATH)
    assert isinstance(plan, Plan)
    written = replace(saved(plan, story.PATH), moved=None, done=())
    assert again(written) == written


SAVING = schemathesis.openapi.from_asgi("/v1/openapi.json", small_app())["/v1/plans"]["POST"]


@given(SAVING.as_strategy())
@settings(max_examples=20, deadline=None, database=None, phases=[Phase.generate], suppress_health_check=QUIET)
@seed(20_260_506)
def test_whatever_can_be_asked_is_read_as_it_was_written(case: Any) -> None:
    try:
        question = PlanSaveAsked.model_validate_json(json.dumps(case.body)).to_domain()
    except (ValidationError, MalformedQuestion):
        # A schema cannot say all: such a question is never saved.
        reject()
    assert read_question(json.loads(json.dumps(question_asked(question)))) == question
