"""A saved plan is looked over under another catalog: it holds, costs another amount, or changes at a visit because of a rule."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path
from random import Random

import pytest

from rules.answer import Plan
from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.plans import PlanReader, PlanSeen, left_of
from rules.load import load_catalog
from rules.question import PathQuestion, Stage, Want
from tests.contract.small import DIRECTORY
from tests.impact.mistakes import with_a_change
from tests.oracle.generate import path_instance

FRONT, REAR = Placement("curlew-slim", "fairing_pods"), Placement("curlew-deep", "rear_pods")
SPRING, NEXT_SPRING = date(2026, 5, 1), date(2027, 5, 1)

KNOWN = {
    "bikes/bittern.yaml": (
        (
            "geometry:\n            depth_mm: {unknown: lay a ruler across the opening and measure down to the first rib}",
            "geometry: {depth_mm: 60}",
        ),
    ),
    "parts/bench.yaml": (("{unknown: ask the maker}", '{"4": 20}'),),
}
"""What is unknown in the small catalog, measured."""

QUESTION = PathQuestion(
    bike="bittern-2019-plain",
    stages=(Stage(on=SPRING, budget=20_000), Stage(on=NEXT_SPRING)),
    wants=(
        Want(parts=("curlew-slim",), place="fairing_pods", by=1),
        Want(parts=("curlew-deep",), place="rear_pods"),
    ),
)


@pytest.fixture
def catalog(tmp_path: Path):
    """Give a way to read the small catalog with edits of its files."""

    def read(*edits: tuple[str, str, str]) -> Catalog:
        directory = tmp_path / f"catalog{len(list(tmp_path.iterdir()))}"
        all_edits = [*((file, *edit) for file, listed in KNOWN.items() for edit in listed), *edits]
        for path in sorted(DIRECTORY.rglob("*.yaml")):
            name = path.relative_to(DIRECTORY).as_posix()
            text = path.read_text(encoding="utf-8")
            for file, old, new in all_edits:
                if file == name:
                    assert old in text, f"{name}: {old!r}"
                    text = text.replace(old, new)
            if name.startswith("cases/"):
                continue
            (directory / name).parent.mkdir(parents=True, exist_ok=True)
            (directory / name).write_text(text, encoding="utf-8")
        return load_catalog(directory)

    return read


def planned(catalog: Catalog, question: PathQuestion = QUESTION) -> Plan:
    plan = Engine(catalog).path(question)
    assert isinstance(plan, Plan), plan
    return plan


def seen(old: Catalog, new: Catalog, question: PathQuestion = QUESTION) -> PlanSeen:
    return PlanReader(Engine(new)).see(question, planned(old, question))


def test_the_plan_has_two_visits(catalog):
    plan = planned(catalog())
    assert [FRONT in visit.adds for visit in plan.visits] == [True, False]
    assert [REAR in visit.adds for visit in plan.visits] == [False, True]


def test_a_plan_holds_under_the_catalog_that_it_was_made_from(catalog):
    old = catalog()
    total = planned(old).total
    assert seen(old, old) == PlanSeen(word="holds", planned=total, same=total, cheapest=total)


def test_a_plan_holds_where_only_words_change(catalog):
    new = catalog(("rules/geometry.yaml", "Take the pods off", "Take both pods off"))
    assert seen(catalog(), new).word == "holds"


def test_a_part_that_costs_less_makes_the_plan_cheaper_by_as_much(catalog):
    found = seen(catalog(), catalog(("prices/2026.yaml", "curlew-deep: 12900", "curlew-deep: 11900")))
    assert (found.word, found.same, found.cheapest) == (
        "cheaper_now",
        found.planned - 1_000,
        found.planned - 1_000,
    )


def test_another_rate_of_labour_makes_the_plan_dearer_and_changes_no_visit(catalog):
    found = seen(catalog(), catalog(("prices/2026.yaml", "labour_per_hour: 7500", "labour_per_hour: 7800")))
    # Two visits of 45 minutes at 3.00 an hour more.
    assert (found.word, found.visit, found.same) == ("dearer_now", None, found.planned + 2 * 225)


def test_a_price_over_the_budget_of_a_visit_changes_that_visit(catalog):
    question = replace(QUESTION, stages=(QUESTION.stages[0], Stage(on=NEXT_SPRING, budget=22_000)))
    new = catalog(("prices/2026.yaml", "curlew-deep: 12900", "curlew-deep: 19900"))
    found = seen(catalog(), new, question)
    # Together with the fronts, in the first visit, it would cost more still: there is no path.
    assert found.word == "no_path"
    assert [(x.visit, x.clause) for x in found.obstacles] == [(2, "stage budget")]


NARROW = ("bikes/bittern.yaml", "geometry: {depth_mm: 60}", "geometry: {depth_mm: 53}")


def test_a_clearance_that_is_lost_changes_the_visit_at_which_it_counts_and_names_its_rule(catalog):
    either = Want(parts=("curlew-deep", "curlew-slim"), place="rear_pods")
    question = replace(
        QUESTION,
        stages=(Stage(on=SPRING, budget=22_500), Stage(on=NEXT_SPRING)),
        wants=(QUESTION.wants[0], either),
    )
    dear = ("prices/2026.yaml", "curlew-slim: 9900", "curlew-slim: 13900")
    found = seen(catalog(dear), catalog(dear, NARROW), question)
    assert (found.word, found.visit, found.rules) == ("changes", 2, ("speaker_too_deep",))
    assert str(found.obstacles[0]) == f"clearance: speaker_too_deep {REAR}"
    # The slim ones go there instead.
    assert found.cheapest == found.planned + 1_000


def test_a_clearance_that_is_lost_leaves_no_path_where_nothing_else_is_wanted(catalog):
    found = seen(catalog(), catalog(NARROW))
    assert (found.word, found.obstacles[0].rules) == ("no_path", ("speaker_too_deep",))


def test_a_hold_is_in_the_way_of_what_is_still_to_be_bought_and_is_named(catalog):
    hold = (
        "  - {id: loose_cones, kind: hold, says: Loose cones., subject: {part: [curlew-deep]}, first: 2027-01-01,"
        " source: {kind: measured, ref: shelf, date: 2026-11-01}}\n"
    )
    new = catalog(("rules/geometry.yaml", "  - id: fit_speaker\n", hold + "  - id: fit_speaker\n"))
    found = seen(catalog(), new)
    # The fronts' budget leaves no room for the rears before the hold begins.
    assert found.word == "no_path"
    assert [(x.visit, x.clause, x.rules) for x in found.obstacles] == [(2, "hold", ("loose_cones",))]


def test_a_plug_that_is_renamed_changes_the_plan_at_the_bike_itself(catalog):
    new = catalog(
        ("bikes/bittern.yaml", "          main: {", "          trunk: {"),
        ("bikes/bittern.yaml", ": main.", ": trunk."),
    )
    found = seen(catalog(), new)
    assert (found.word, found.visit) == ("changes", 0)


def test_a_bike_that_is_not_in_the_catalog_any_more_has_no_path(catalog):
    new = catalog()
    gone = replace(new, bikes={name: bike for name, bike in new.bikes.items() if name != QUESTION.bike})
    assert seen(catalog(), gone) == PlanSeen(word="no_path", planned=planned(new).total)


def test_of_a_plan_under_way_what_is_left_is_looked_over(catalog):
    old = catalog()
    plan = planned(old)
    fitted = tuple(LedgerEntry(placement=x) for x in plan.visits[0].adds)
    wiring = frozenset((str(one), str(other)) for one, other in plan.visits[0].wiring or ())
    later = Stage(on=date(2027, 6, 1))
    question = replace(
        QUESTION,
        stages=(later,),
        wants=QUESTION.wants[1:],
        found=AsFound(fitted=fitted, removed=plan.visits[0].removes, wiring=wiring),
    )
    left = left_of(plan, 1, (later,))
    found = PlanReader(Engine(old)).see(question, left)
    assert (found.word, found.planned) == ("holds", plan.visits[1].spent - plan.visits[1].resale)
    (obstacle,) = PlanReader(Engine(catalog(NARROW))).see(question, left).obstacles
    assert (obstacle.visit, obstacle.rules) == (1, ("speaker_too_deep",))


def test_left_of_a_plan_has_as_many_visits_as_are_left_to_ask(catalog):
    plan = planned(catalog())
    with pytest.raises(ValueError, match=r"shorter|longer"):
        left_of(plan, 2, (Stage(on=NEXT_SPRING),))


@pytest.mark.parametrize("seed", [0, 7, 11, 13, 15, 17, 21])
def test_a_plan_that_is_said_to_hold_is_ridable_at_every_visit_and_nothing_costs_less(seed):
    instance = path_instance(seed)
    plan = planned(instance.catalog, instance.question)
    for draw in range(6):
        new = Engine(with_a_change(instance.catalog, Random(f"{seed} {draw}")))
        assert_seen_right(new, instance.question, plan)


def assert_seen_right(new: Engine, question: PathQuestion, plan: Plan) -> None:
    found = PlanReader(new).see(question, plan)
    again = asked(new, question)
    assert (found.word == "no_path") == (not isinstance(again, Plan))
    if not isinstance(again, Plan):
        return
    assert found.cheapest == again.total
    examiner = new.desk(question.bike, question.found).examiner
    is_ridable = all(examiner.examine(visit.build).is_valid for visit in plan.visits if not visit.is_empty)
    assert is_ridable or found.word == "changes"
    assert found.word != "holds" or again.total == plan.total


def asked(engine: Engine, question: PathQuestion) -> object:
    try:
        return engine.path(question)
    except LoomwayError:
        return None
