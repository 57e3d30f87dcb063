"""Why a part is bought, and why at that visit: what breaks without it, and what another visit would cost."""

from __future__ import annotations

from datetime import date

from rules.catalog.rule import Operation
from rules.engine import Engine
from rules.question import PathQuestion, Stage, Want
from rules.why import Reason, Reasons
from tests.unit.catalogs import (
    DAY,
    NEXT_YEAR,
    all_of_kind,
    amplifier,
    harness,
    power_kit,
    prices,
    rule,
    shop,
    speaker,
)

TWO_VISITS = (Stage(on=DAY), Stage(on=NEXT_YEAR))
SYSTEM = (amplifier(), harness(), power_kit())
RISING = (
    prices("now", date(2030, 1, 1), date(2030, 12, 31), {"petrel": 800, "tern": 900}),
    prices("later", date(2031, 1, 1), date(2031, 12, 31), {"petrel": 1000, "tern": 1000}),
)


def reasons(catalog, *wants, stages=TWO_VISITS, **more) -> Reasons:
    wanted = tuple(Want(parts=(x,)) if isinstance(x, str) else x for x in wants)
    answer = Engine(catalog).reasons(PathQuestion(bike="curlew", stages=stages, wants=wanted, **more))
    assert isinstance(answer, Reasons), answer
    return answer


def reason(found: Reasons, part: str) -> Reason:
    return next(x for x in found.purchases if x.part.part == part)


def test_what_the_rider_asks_for_is_bought_for_that():
    found = reasons(shop(*SYSTEM), "fulmar")
    assert reason(found, "fulmar").wanted == ("fulmar",)
    assert reason(found, "power-kit").wanted == ()


def test_what_comes_along_names_what_cannot_be_without_it():
    kit = reason(reasons(shop(*SYSTEM), "fulmar"), "power-kit")
    assert {x.part for need in kit.needed for x in need.by} == {"fulmar"}
    assert {need.rule for need in kit.needed} == {"plug_without_mate"}


def test_what_is_asked_for_is_not_said_to_be_needed_by_what_it_brings_along():
    assert reason(reasons(shop(*SYSTEM), "fulmar"), "fulmar").needed == ()


def test_a_price_that_rises_is_the_reason_to_buy_now():
    (moved,) = reason(reasons(shop(speaker(), lists=RISING), "petrel"), "petrel").moved
    assert (moved.visit, moved.outcome, moved.by, moved.parts) == (2, "dearer", 200, 200)


def test_labour_that_is_shared_is_told_with_its_price():
    work = rule(Operation, "seat_off", minutes=10, action=None, subject=None)
    fit = rule(
        Operation, "fit_pair", minutes=5, subject=all_of_kind("speaker"), action="add", after=("seat_off",)
    )
    catalog = shop(speaker(at=("pods",)), speaker("tern", at=("rears",)), work, fit)
    found = reasons(catalog, Want(parts=("petrel",), by=1), "tern")
    (moved,) = reason(found, "tern").moved
    assert (moved.outcome, moved.by, moved.labour) == ("dearer", 1000, 1000)


def test_a_thing_due_by_this_visit_cannot_wait():
    found = reason(reasons(shop(speaker()), Want(parts=("petrel",), by=1)), "petrel")
    assert found.due == 1
    assert [(x.visit, x.outcome) for x in found.moved] == [(2, "too_late")]


def test_a_budget_that_keeps_a_thing_from_coming_earlier_is_named_with_what_is_short():
    tight = (Stage(on=DAY, budget=700), Stage(on=NEXT_YEAR))
    (moved,) = reason(reasons(shop(speaker(), lists=RISING), "petrel", stages=tight), "petrel").moved
    assert (moved.visit, moved.outcome, moved.about, moved.short) == (1, "over_budget", f"budget {DAY}", 100)
    assert moved.by == -200


def test_what_a_want_leaves_open_is_planned_with_its_difference():
    (choice,) = reasons(
        shop(speaker(), speaker("tern"), lists=RISING), Want(parts=("petrel", "tern"), place="rears")
    ).not_bought
    assert (choice.part.part, choice.total, choice.dearer_by) == ("tern", 900, 100)


def test_a_part_that_only_one_want_brings_is_said_to_be_for_that():
    found = reasons(shop(*SYSTEM, speaker()), "fulmar", "petrel")
    assert reason(found, "power-kit").for_later == ("fulmar",)
    assert reason(found, "petrel").for_later == ("petrel",)


def test_what_stays_and_what_is_gone_add_up_to_what_was_paid():
    lists = (
        prices(
            "now",
            date(2030, 1, 1),
            date(2031, 12, 31),
            {"petrel": 1000, "tern": 2000},
            resale={"petrel": 400},
        ),
    )
    wants = (Want(parts=("petrel", "tern"), place="pods", by=1), Want(parts=("tern",), place="pods"))
    catalog = shop(speaker(at=("pods",)), speaker("tern", at=("pods",)), lists=lists)
    found = reasons(catalog, *wants, stages=(Stage(on=DAY, budget=1500), Stage(on=NEXT_YEAR)))
    petrel = reason(found, "petrel")
    assert (petrel.paid, petrel.kept, petrel.wasted) == (1000, 400, 600)
