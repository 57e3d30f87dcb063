"""Section 6 of the definitions: visits, builds, what is wanted and what is not, budgets, sums, waste, the ledger."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from rules.answer import LedgerPart, Plan
from rules.build import AsFound, LedgerEntry
from rules.catalog.catalog import Catalog
from rules.catalog.facts import DateSpan
from rules.checker import Clause
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import DAY, NEXT_YEAR, UNKNOWN, amplifier, one, placed, speaker
from tests.unit.rules_checker.spoil import (
    AUTUMN,
    LATER,
    QUESTION,
    Spoiled,
    asked,
    assert_named,
    checked,
    good,
    planned,
    the_shop,
    with_more,
    with_visit,
)

STOP_GAP = PathQuestion(
    bike="curlew",
    stages=(Stage(on=DAY), Stage(on=AUTUMN)),
    wants=(Want(parts=("dunlin", "petrel"), place="pods", by=1), Want(parts=("petrel",), place="pods")),
)


def petrel_in_autumn() -> Catalog:
    return the_shop(
        speaker(mass_kg=1.0, tags=("pod",), available=DateSpan(first=AUTUMN, last=LATER)),
    )


@cache
def stop_gap() -> Plan:
    """Give a plan that buys cheap speakers for the summer and sells them on."""
    return planned(petrel_in_autumn(), STOP_GAP)


def ledger(change: Callable[[LedgerPart], list[LedgerPart]]) -> Callable[[], Plan]:
    return lambda: replace(good(), ledger=tuple(new for x in good().ledger for new in change(x)))


def entry(name: str, **more: Any) -> Callable[[LedgerPart], list[LedgerPart]]:
    return lambda x: [replace(x, **more) if x.part == name else x]


def red() -> Catalog:
    return the_shop(amplifier(mass_kg=2.0, watts=25.0, colour="red"))


def visit(number: int, **more: Any) -> Callable[[], Plan]:
    return lambda: with_visit(good(), number, **more)


def without_a_visit() -> Plan:
    return replace(good(), visits=good().visits[:1])


def taken_out(text: str) -> Plan:
    """Give the plan with one part less in the end."""
    gone = one(text)
    last = good().visits[1]
    return with_visit(good(), 2, removes=(*last.removes, gone), build=last.build - {gone})


PATHS = [
    Spoiled(Clause.STAGES, None, without_a_visit, why="one visit less"),
    Spoiled(Clause.STAGES, None, visit(2, on=LATER), why="another day"),
    Spoiled(Clause.STAGES, None, visit(2, fitter="home"), why="another fitter"),
    Spoiled(Clause.BUILD, 1, lambda: with_visit(good(), 1, build=frozenset()), why="does not follow"),
    Spoiled(Clause.BUILD, 1, visit(1, removes=(one("dunlin@pods"),)), why="goes out and was not there"),
    Spoiled(Clause.BUILD, 2, lambda: with_more(good(), 2, "petrel@pods"), why="comes in and was there"),
    Spoiled(
        Clause.BUILD, 1, lambda: with_visit(good(), 1, adds=good().visits[0].adds * 2), why="comes in twice"
    ),
    Spoiled(Clause.STAYS_TOLD, 1, visit(1, stays=())),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(parts=("dunlin",)),)), why="a part"),
    Spoiled(Clause.WANTED, 1, question=asked(wants=(Want(parts=("fulmar",), by=1),)), why="sooner"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(parts=("petrel",), place="rears"),)), why="there"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(zone="rears"),)), why="a zone"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(kind="adapter"),)), why="a kind"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(functions=("pod", "lid")),)), why="functions"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(lines=("dunlin",)),)), why="a line"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(colour="black"),)), why="a colour"),
    Spoiled(Clause.WANTED, 2, question=asked(wants=(Want(kind="speaker", most_kg=0.9),)), why="lighter"),
    Spoiled(Clause.LEAST_POWER, 2, question=asked(wants=(Want(parts=("petrel",), least_w=25.1),))),
    Spoiled(
        Clause.LEAST_POWER, 1, question=asked(wants=(Want(zone="pods", least_w=25.0, by=1),)), why="soon"
    ),
    Spoiled(Clause.STRIPPED, 2, lambda: taken_out("spacer-ring@pods")),
    Spoiled(
        Clause.STRIPPED,
        1,
        question=asked(wants=(Want(parts=("fulmar",)),)),
        why="for something that is not wanted",
    ),
    Spoiled(
        Clause.RETURNED, 2, lambda: with_more(good(), 2, "works-pods@pods"), why="what went out comes back"
    ),
    Spoiled(Clause.EXCLUDED_PART, 2, question=asked(excluded=frozenset({"power-kit"}))),
    Spoiled(Clause.LOCKED, 1, question=asked(locked=placed("works-pods@pods"))),
    Spoiled(Clause.COLOUR, 2, catalog=red, question=asked(colour="black")),
    Spoiled(Clause.ADDED_MASS, 1, question=asked(most_added_kg=0.9)),
    Spoiled(Clause.ADDED_MASS, 2, question=asked(most_added_kg=2.9), why="in the end"),
    Spoiled(
        Clause.ADDED_MASS,
        2,
        catalog=lambda: the_shop(amplifier(mass_kg=UNKNOWN, watts=25.0)),
        question=asked(most_added_kg=9.0),
        why="unknown",
    ),
    Spoiled(Clause.STAGE_BUDGET, 1, question=asked(stages=(Stage(on=DAY, budget=14_999), Stage(on=AUTUMN)))),
    Spoiled(Clause.YEAR_BUDGET, None, question=asked(year_budgets={2030: 73_199})),
    Spoiled(Clause.PATH_BUDGET, None, question=asked(budget=73_199)),
    Spoiled(Clause.PATH_BUDGET, None, question=asked(budget=72_699, resale_counts=True), why="less resale"),
    Spoiled(Clause.TOTAL, 1, visit(1, spent=14_999), why="spent"),
    Spoiled(Clause.TOTAL, 1, visit(1, resale=501), why="resale"),
    Spoiled(Clause.TOTAL, None, lambda: replace(good(), spent=good().spent - 1), why="of the plan"),
    Spoiled(Clause.TOTAL, None, lambda: replace(good(), resale=0), why="resale of the plan"),
    Spoiled(Clause.WASTE, None, lambda: replace(good(), waste=1)),
    Spoiled(
        Clause.WASTE,
        None,
        lambda: replace(stop_gap(), waste=stop_gap().waste - 1),
        petrel_in_autumn,
        STOP_GAP,
        why="of a stop-gap",
    ),
    Spoiled(Clause.LEDGER, None, ledger(lambda x: [] if x.part == "petrel" else [x]), why="one is left out"),
    Spoiled(Clause.LEDGER, None, ledger(lambda x: [x, x] if x.part == "petrel" else [x]), why="one is twice"),
    Spoiled(Clause.LEDGER, None, ledger(entry("petrel", paid=9_000)), why="another share"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", paid=29_999)), why="another price"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", visit=1)), why="another visit"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", visit=3)), why="no such visit"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", on=DAY)), why="another day"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", fitter="home")), why="another fitter"),
    Spoiled(Clause.LEDGER, None, ledger(entry("petrel", bundle=None)), why="not in its bundle"),
    Spoiled(Clause.LEDGER, None, ledger(entry("fulmar", stays=False)), why="said to go"),
    Spoiled(Clause.LEDGER, None, ledger(entry("works-pods", resale=499)), why="another resale"),
    Spoiled(Clause.LEDGER, None, ledger(entry("works-pods", sold_at=2)), why="sold at another visit"),
    Spoiled(
        Clause.LEDGER,
        None,
        question=asked(found=AsFound(fitted=(LedgerEntry(placement=one("rear-flash@dash"), paid=5_000),))),
        why="what was fitted before is left out",
    ),
]


@pytest.mark.parametrize("spoiled", PATHS, ids=str)
def test_what_is_wrong_with_a_path_is_named(spoiled: Spoiled) -> None:
    assert_named(spoiled)


FITS: dict[str, PathQuestion] = {
    "budgets that are just met": asked(budget=73_200, year_budgets={2030: 73_200, 2031: 0}),
    "a budget that resale helps to meet": asked(budget=72_700, resale_counts=True),
    "a mass that is just met": asked(most_added_kg=3.0),
    "any speakers of a zone": asked(wants=(*QUESTION.wants, Want(zone="pods", kind="speaker"))),
    "speakers with power": asked(wants=(*QUESTION.wants, Want(kind="speaker", least_w=25.0))),
    "a wish for what is there already": asked(wants=(*QUESTION.wants, Want(parts=("works-radio",), by=1))),
    "a light part with a function": asked(
        wants=(*QUESTION.wants, Want(functions=("pod",), most_kg=1.0, lines=("tern",), place="pods"))
    ),
    "a colour that nothing has": asked(colour="black"),
}


@pytest.mark.parametrize("name", FITS)
def test_what_a_plan_just_meets_is_no_fault(name: str) -> None:
    assert not checked(the_shop(), FITS[name], good())


def test_a_part_that_the_question_lets_go_may_go() -> None:
    found = checked(the_shop(), asked(may_go=placed("spacer-ring@pods")), taken_out("spacer-ring@pods"))
    assert Clause.STRIPPED not in {x.clause for x in found}


def test_a_stop_gap_wastes_what_it_cost_less_what_it_fetched_and_its_work() -> None:
    """Dunlin: 40.00 less 3.00, half an hour to fit, and 25 minutes for the works speakers that made room for it."""
    assert stop_gap().waste == 4_000 - 300 + 3_000 + 1_500 + 1_000


def test_the_year_of_a_visit_is_its_own() -> None:
    stages = (Stage(on=DAY, budget=20_000), Stage(on=NEXT_YEAR))
    question = asked(stages=stages, year_budgets={2031: 58_700})
    plan = planned(the_shop(), question)
    assert_named(
        Spoiled(
            Clause.YEAR_BUDGET, None, lambda: plan, question=replace(question, year_budgets={2031: 58_000})
        )
    )
