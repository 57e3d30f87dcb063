"""Where there is no path: the single changes that make one, each with what the plan costs then."""

from __future__ import annotations

from datetime import date

import pytest

from rules.answer import Cure, NoPlan, Plan
from rules.catalog.facts import DateSpan
from rules.catalog.rule import Operation
from rules.engine import Engine
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import (
    DAY,
    NEXT_YEAR,
    all_of_kind,
    amplifier,
    as_found,
    harness,
    one,
    power_kit,
    prices,
    rule,
    shop,
    speaker,
)

ONE_VISIT = (Stage(on=DAY),)
TWO_VISITS = (Stage(on=DAY), Stage(on=NEXT_YEAR))
SYSTEM = (amplifier(), harness(), power_kit())
WHOLE_LIFE = DateSpan(first=date(2032, 1, 1), last=date(2040, 1, 1))


def cures(catalog, *wants, stages=ONE_VISIT, **more) -> tuple[Cure, ...]:
    wanted = tuple(Want(parts=(x,)) if isinstance(x, str) else x for x in wants)
    answer = Engine(catalog).cured(PathQuestion(bike="curlew", stages=stages, wants=wanted, **more))
    assert isinstance(answer, NoPlan), answer
    return answer.cures


@pytest.mark.parametrize(
    ("more", "kind"),
    [
        ({"budget": 2500}, "raise_path_budget"),
        ({"year_budgets": {2030: 2500}}, "raise_year_budget"),
        ({"stages": (Stage(on=DAY, budget=2500),)}, "raise_budget"),
    ],
)
def test_a_budget_is_raised_by_just_what_is_short(more, kind):
    found = next(x for x in cures(shop(*SYSTEM), "fulmar", **more) if x.kind == kind)
    assert (found.more, found.total) == (500, 3000)


def test_a_raise_found_is_enough_and_a_minor_unit_less_is_not():
    (found,) = (x for x in cures(shop(*SYSTEM), "fulmar", budget=2500) if x.kind == "raise_path_budget")
    question = PathQuestion(
        bike="curlew", stages=ONE_VISIT, wants=(Want(parts=("fulmar",)),), budget=2500 + (found.more or 0)
    )
    engine = Engine(shop(*SYSTEM))
    assert isinstance(engine.path(question), Plan)
    short = PathQuestion(
        bike="curlew", stages=ONE_VISIT, wants=question.wants, budget=2500 + (found.more or 0) - 1
    )
    assert isinstance(engine.path(short), NoPlan)


def test_a_part_that_was_ruled_out_is_allowed_again():
    found = cures(shop(*SYSTEM), "fulmar", excluded=frozenset({"power-kit"}))
    assert [(x.kind, x.about) for x in found] == [("allow_part", "power-kit")]


def test_a_lock_is_opened():
    locked = frozenset({one("works-pods@pods")})
    found = cures(shop(speaker(at=("pods",))), "petrel", locked=locked)
    assert [(x.kind, x.about) for x in found] == [("unlock", "works-pods@pods")]


def test_what_a_home_fitter_may_not_do_is_done_at_the_shop():
    work = rule(
        Operation, "fit_amplifier", minutes=30, subject=all_of_kind("amplifier"), action="add", home=False
    )
    found = cures(shop(*SYSTEM, work), "fulmar", stages=(Stage(on=DAY, fitter="home"),))
    assert ("at_the_shop", DAY.isoformat(), 6000) in [(x.kind, x.about, x.total) for x in found]


def test_a_thing_is_had_a_visit_later():
    want = Want(parts=("petrel",), by=1)
    found = cures(shop(speaker()), want, stages=(Stage(on=DAY, budget=0), Stage(on=NEXT_YEAR)))
    assert [(x.kind, x.visit) for x in found if x.kind == "later"] == [("later", 2)]


def test_what_is_not_there_yet_is_had_at_one_more_visit():
    lists = (prices("all", date(2030, 1, 1), date(2040, 12, 31), {"petrel": 1000}),)
    catalog = shop(speaker(available=WHOLE_LIFE), lists=lists)
    found = cures(catalog, "petrel", stages=TWO_VISITS)
    assert [(x.kind, x.on, x.total) for x in found] == [("another_visit", date(2032, 5, 1), 1000)]


def test_a_harness_laid_earlier_may_come_out():
    catalog = shop(*SYSTEM, harness("new-harness"))
    found = cures(
        catalog, "new-harness", found=as_found("fulmar@tray", "front-harness@dash", "power-kit@battery")
    )
    assert ("rewire", "front-harness") in [(x.kind, x.about) for x in found]


def test_going_without_a_thing_is_offered_last():
    found = cures(shop(*SYSTEM, speaker()), "fulmar", "petrel", budget=3500)
    assert [x.kind for x in found] == ["raise_path_budget", "leave_out", "leave_out"]


def test_of_a_leap_day_a_year_later_is_the_day_before():
    lists = (prices("all", date(2030, 1, 1), date(2040, 12, 31), {"petrel": 1000}),)
    late = speaker(available=DateSpan(first=date(2033, 1, 1), last=date(2040, 1, 1)))
    found = cures(shop(late, lists=lists), "petrel", stages=(Stage(on=date(2032, 2, 29)),))
    assert [x.on for x in found] == [date(2033, 2, 28)]
