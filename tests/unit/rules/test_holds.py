"""A hold that is set on a release counts like one that its files have."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from rules.engine import Engine
from rules.explain import sentence
from rules.holds import HeldPart, holds_id, with_holds
from rules.load import load_catalog
from rules.question import FitQuestion
from rules.verdict import Verdict
from service import story
from service.settings import DEMO_CATALOG

ASKED = FitQuestion(bike=story.BIKE, part="tern-52", place="rear_pods", on=story.TODAY)
HELD = HeldPart(part="tern-52", first=story.TODAY, last=date(2026, 5, 31), says="a batch has loose cones")
CATALOG = load_catalog(DEMO_CATALOG)


def test_a_held_part_does_not_fit_and_the_reason_is_the_managers() -> None:
    held = with_holds(CATALOG, [HELD])
    answer = Engine(held).fit(ASKED)
    assert answer.verdict is Verdict.DOES_NOT_FIT
    assert HELD.says in sentence(answer.findings[0], held)


def test_a_hold_counts_on_its_days_only() -> None:
    engine = Engine(with_holds(CATALOG, [HELD]))
    verdicts = [
        engine.fit(replace(ASKED, on=on)).verdict
        for on in (date(2026, 5, 3), date(2026, 5, 4), date(2026, 5, 31), date(2026, 6, 1))
    ]
    before = Engine(CATALOG).fit(ASKED).verdict
    assert verdicts == [before, Verdict.DOES_NOT_FIT, Verdict.DOES_NOT_FIT, before]


def test_a_hold_of_a_part_that_is_not_in_the_catalog_changes_nothing() -> None:
    assert with_holds(CATALOG, [replace(HELD, part="tern-999")]) == CATALOG


def test_the_same_hold_twice_is_two_rules() -> None:
    twice = with_holds(CATALOG, [HELD, HELD])
    assert len(twice.rules) == len(CATALOG.rules) + 2
    assert set(twice.topics) == set(twice.rules)


def test_holds_are_named_by_what_they_say_in_any_order() -> None:
    other = replace(HELD, part="tern-65", last=None)
    assert holds_id([HELD, other]) == holds_id([other, HELD])
    assert len({holds_id([]), holds_id([HELD]), holds_id([other]), holds_id([HELD, other])}) == 4
    assert holds_id([]) == ""
