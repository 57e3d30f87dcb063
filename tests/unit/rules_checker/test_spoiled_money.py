"""Section 5 of the definitions: every line is worked out anew, to the cent."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from functools import cache

import pytest

from rules.answer import Plan, PresetMade
from rules.catalog.catalog import Catalog
from rules.catalog.facts import DateSpan
from rules.checker import Clause
from rules.money import Line
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import DAY, all_of_kind, amplifier, bike_is, only, prices
from tests.unit.rules_checker.spoil import (
    AUTUMN,
    LATER,
    LIST,
    QUESTION,
    Spoiled,
    asked,
    assert_named,
    checked,
    dearer,
    good,
    planned,
    summed,
    the_shop,
    with_lines,
    with_visit,
    without,
    work,
)


def lines(number: int, change: Callable[[Line], list[Line]]) -> Callable[[], Plan]:
    return lambda: with_lines(good(), number, change)


def twice(kind: str, about: str) -> Callable[[Line], list[Line]]:
    return lambda line: [line] * (2 if (line.kind, line.about) == (kind, about) else 1)


def said(of_kind: str, **more: object) -> Callable[[Line], list[Line]]:
    """Say something else in the lines of a kind."""
    return lambda line: [replace(line, **more) if line.kind == of_kind else line]  # type: ignore[arg-type]


def singly(line: Line) -> list[Line]:
    """Buy the members of the bundle one by one."""
    if line.kind != "bundle":
        return [line]
    return [Line(kind="part", about=name, total=LIST.prices[name]) for name in ("petrel", "spacer-ring")]


HOME = asked(stages=(Stage(on=DAY, budget=20_000), Stage(on=AUTUMN, fitter="home")))


@cache
def at_home() -> Plan:
    """Give a plan whose amplifier is fitted at home, with its preset sent by post."""
    return planned(the_shop(), HOME)


def workshop_only() -> Catalog:
    """Give the shop that lets nobody else fit amplifiers."""
    return the_shop(work("fit_amplifier", "add", 60, only("fulmar"), after=("screen_off",), home=False))


def with_other_preset() -> Plan:
    """Give the plan with the dearer of two services, and its price."""
    made = good().visits[1].presets[0]
    dear = with_visit(good(), 2, presets=(replace(made, service="old-preset"),))
    price = {"preset": LIST.prices["old-preset"]}

    def change(line: Line) -> list[Line]:
        if line.about != "bench-preset":
            return [line]
        return [replace(line, about="old-preset", total=price.get(line.kind, line.total))]

    return with_lines(dear, 2, change)


NEXT = PathQuestion(bike="curlew", stages=(Stage(on=LATER),), wants=(Want(parts=("damping",)),))


@cache
def after_the_last_list() -> Plan:
    return planned(the_shop(), NEXT)


def sold_until_june() -> Catalog:
    ends = DateSpan(first=DAY, last=DAY.replace(month=6))
    return the_shop(amplifier(mass_kg=2.0, watts=25.0, available=ends))


def without_a_price() -> Catalog:
    fewer = {name: price for name, price in LIST.prices.items() if name != "power-kit"}
    return replace(the_shop(), price_lists=(LIST.model_copy(update={"prices": fewer}),))


MONEY = [
    Spoiled(Clause.FOR_SALE, 2, catalog=sold_until_june, why="any more"),
    Spoiled(Clause.FOR_SALE, 2, catalog=without_a_price, why="without a price"),
    Spoiled(
        Clause.FOR_SALE,
        1,
        catalog=lambda: replace(the_shop(), price_lists=(prices("later", AUTUMN, LATER, LIST.prices),)),
        why="before the first list",
    ),
    Spoiled(Clause.PURCHASES, 1, lines(1, dearer("bundle", "front-set")), why="a cent too much"),
    Spoiled(Clause.PURCHASES, 2, lines(2, dearer("part", "fulmar", -1)), why="a cent too little"),
    Spoiled(Clause.PURCHASES, 1, lines(1, singly), why="cheaper in a bundle"),
    Spoiled(Clause.PURCHASES, 2, lines(2, without("part", "power-kit")), why="not paid"),
    Spoiled(Clause.PURCHASES, 2, lines(2, twice("part", "power-kit")), why="paid twice"),
    Spoiled(Clause.PURCHASES, 2, lines(2, said("part", assumed=True)), why="said to be assumed"),
    Spoiled(Clause.PURCHASES, 1, lines(1, said("bundle", kind="part")), why="a bundle said to be a part"),
    Spoiled(Clause.LABOUR, 1, lines(1, without("labour", "fit_speaker")), why="left out"),
    Spoiled(Clause.LABOUR, 1, lines(1, without("labour", "screen_off")), why="tear-down left out"),
    Spoiled(Clause.LABOUR, 1, lines(1, twice("labour", "screen_off")), why="tear-down twice"),
    Spoiled(Clause.LABOUR, 1, lines(1, dearer("labour", "take_out_speaker")), why="a cent too much"),
    Spoiled(Clause.LABOUR, 1, lines(1, said("labour", quantity=29)), why="other minutes"),
    Spoiled(Clause.LABOUR, 2, lines(2, said("labour", assumed=True)), why="said to be assumed"),
    Spoiled(Clause.LABOUR, 2, lines(2, without("labour", "bench-preset")), why="bench time left out"),
    Spoiled(
        Clause.LABOUR,
        2,
        lines(2, without("labour", "read_the_noise_floor")),
        why="work for a preset left out",
    ),
    Spoiled(
        Clause.LABOUR,
        1,
        catalog=lambda: the_shop(work("move_plugs", "remove", 5, all_of_kind("speaker"))),
        why="one more operation",
    ),
    Spoiled(Clause.HOME_LABOUR, 2, at_home, workshop_only, HOME),
    Spoiled(Clause.PRESET_LINES, 2, lines(2, without("preset", "bench-preset")), why="left out"),
    Spoiled(Clause.PRESET_LINES, 2, lines(2, dearer("preset", "bench-preset")), why="a cent too much"),
    Spoiled(Clause.PRESET_LINES, 2, with_other_preset, why="the dearer service"),
    Spoiled(
        Clause.PRESET_LINES,
        2,
        lambda: with_visit(good(), 2, presets=tuple(replace(x, days=4) for x in good().visits[1].presets)),
        why="days off the road in the shop",
    ),
    Spoiled(
        Clause.PRESET,
        2,
        lambda: with_visit(good(), 2, presets=tuple(replace(x, service="fulmar") for x in made())),
        why="a service that is none",
    ),
    Spoiled(
        Clause.FREIGHT,
        2,
        lambda: with_lines(at_home(), 2, without("freight", "freight")),
        question=HOME,
        why="left out",
    ),
    Spoiled(
        Clause.FREIGHT,
        2,
        lambda: with_lines(at_home(), 2, dearer("freight", "freight")),
        question=HOME,
        why="a cent too much",
    ),
    Spoiled(Clause.RESALE, 1, lines(1, without("resale", "works-pods")), why="kept back"),
    Spoiled(Clause.RESALE, 1, lines(1, dearer("resale", "works-pods", -1)), why="a cent too much"),
    Spoiled(
        Clause.PURCHASES,
        1,
        lambda: summed(with_lines(after_the_last_list(), 1, said("part", assumed=False))),
        question=NEXT,
        why="not said to be assumed",
    ),
]


def made() -> tuple[PresetMade, ...]:
    return good().visits[1].presets


@pytest.mark.parametrize("spoiled", MONEY, ids=str)
def test_what_is_wrong_with_a_line_is_named(spoiled: Spoiled) -> None:
    assert_named(spoiled)


def test_a_shifted_cent_is_the_only_fault_where_all_sums_follow_it() -> None:
    plan = with_lines(good(), 1, dearer("labour", "fit_speaker"))
    assert {x.clause for x in checked(the_shop(), QUESTION, plan)} == {Clause.LABOUR}


def test_prices_of_the_last_list_are_assumed_after_its_end() -> None:
    plan = after_the_last_list()
    assert all(line.assumed for line in plan.visits[0].lines)
    # The same lines on a day of the list would have to be sure.
    early = replace(NEXT, stages=(Stage(on=date(2030, 12, 31)),))
    sure = planned(the_shop(), early)
    assert not any(line.assumed for line in sure.visits[0].lines)


def test_tear_down_whose_condition_does_not_hold_on_this_bike_is_not_charged() -> None:
    idle = the_shop(work("screen_off", None, 10, when=bike_is("trim", "fair")))
    plan = with_lines(
        with_lines(good(), 1, without("labour", "screen_off")), 2, without("labour", "screen_off")
    )
    assert not checked(idle, QUESTION, plan)


def test_tear_down_is_charged_where_nobody_knows_whether_it_is_needed() -> None:
    unsure = the_shop(work("screen_off", None, 10, when=bike_is("never_recorded", value=True)))
    assert not checked(unsure, QUESTION, good())
