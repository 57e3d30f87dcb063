"""Section 3 of the definitions: what is rewired, and whether a visit tells what it does."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

from rules.answer import Plan
from rules.catalog.catalog import Catalog
from rules.catalog.facts import DateSpan
from rules.checker import Clause
from rules.question import PathQuestion, Stage, Want
from tests.unit.catalogs import DAY, harness
from tests.unit.rules_checker.spoil import (
    AUTUMN,
    LATER,
    LIST,
    Spoiled,
    asked,
    assert_named,
    checked,
    good,
    planned,
    the_shop,
    with_mates,
    with_visit,
)

SUMMER = DAY.replace(month=7)
WINTER = AUTUMN.replace(month=12)


def two_harnesses() -> Catalog:
    """Give the shop with another harness, which comes out in summer."""
    catalog = the_shop(harness("long-harness", available=DateSpan(first=SUMMER, last=LATER)))
    dear = LIST.model_copy(update={"prices": {**LIST.prices, "long-harness": 9_900}})
    return replace(catalog, price_lists=(dear,))


EXCHANGE = PathQuestion(
    bike="curlew",
    stages=(Stage(on=DAY), Stage(on=AUTUMN)),
    wants=(
        Want(parts=("fulmar",), by=1),
        Want(parts=("front-harness", "long-harness"), by=1),
        Want(parts=("long-harness",)),
    ),
    allowed_rewiring=frozenset({"front-harness"}),
)


@cache
def exchanged() -> Plan:
    """Give a plan that pulls a harness out again, as the question allows."""
    return planned(two_harnesses(), EXCHANGE)


EARLY = PathQuestion(
    bike="curlew",
    stages=(Stage(on=DAY), Stage(on=AUTUMN), Stage(on=WINTER)),
    wants=(Want(parts=("fulmar",), by=1), Want(parts=("damping",), by=2), Want(parts=("rear-flash",))),
)
"""The amplifier first, then something in the pods, then something in the dash."""


def dated() -> Catalog:
    """Give the shop in which what comes second and third is for sale only then."""
    catalog = the_shop()
    days = {
        "damping": DateSpan(first=AUTUMN, last=AUTUMN),
        "rear-flash": DateSpan(first=WINTER, last=LATER),
    }
    late = {name: catalog.parts[name].model_copy(update={"available": span}) for name, span in days.items()}
    return replace(catalog, parts={**catalog.parts, **late})


@cache
def early() -> Plan:
    return planned(dated(), EARLY)


HARNESS = (
    "front-harness@dash:radio-end = works-radio@dash:main",
    "front-harness@dash:loom-end = loom:main",
)
PAST = "loom:main = works-radio@dash:main"


def past_the_amplifier(*visits: int) -> Plan:
    """Give a plan that plugs the radio straight into the loom after some visits."""
    plan = early()
    for number in visits:
        plan = with_mates(plan, number, HARNESS, (PAST,))
    return plan


def told(number: int, **more: object) -> Plan:
    return with_visit(good(), number, **more)


STEPS = [
    Spoiled(
        Clause.CHANGES_TOLD, 2, lambda: told(2, changes=good().visits[1].changes[1:]), why="one is left out"
    ),
    Spoiled(
        Clause.CHANGES_TOLD,
        2,
        lambda: told(2, changes=tuple(replace(x, kind="kept") for x in good().visits[1].changes)),
        why="all is said to be kept",
    ),
    Spoiled(
        Clause.CHANGES_TOLD,
        1,
        lambda: told(1, changes=tuple(x for x in good().visits[0].changes if x.kind != "released")),
        why="nothing is said to be released",
    ),
    Spoiled(
        Clause.CHANGES_TOLD,
        2,
        lambda: with_visit(
            early(), 2, adds=(), stays=(), build=early().visits[0].build, lines=(), wiring=None
        ),
        dated,
        EARLY,
        why="nothing is done and the wiring is another",
    ),
    Spoiled(Clause.FEEDS_TOLD, 2, lambda: told(2, feeds=good().visits[1].feeds[1:]), why="one is left out"),
    Spoiled(
        Clause.LOAD_TOLD,
        2,
        lambda: told(2, feeds=tuple(replace(x, load_ohm=2.0) for x in good().visits[1].feeds)),
        why="another load",
    ),
    Spoiled(
        Clause.FEEDS_TOLD,
        2,
        lambda: told(2, feeds=tuple(replace(x, channel="left") for x in good().visits[1].feeds)),
        why="another channel",
    ),
    Spoiled(
        Clause.REWIRED_PART,
        2,
        catalog=lambda: the_shop(harness(rewires=True)),
        why="spliced in",
    ),
    Spoiled(
        Clause.REWIRED_PART,
        2,
        exchanged,
        two_harnesses,
        replace(EXCHANGE, allowed_rewiring=frozenset()),
        why="pulled out",
    ),
    Spoiled(Clause.REWIRED_SIDE, 2, lambda: past_the_amplifier(2, 3), dated, EARLY, why="off the amplifier"),
    Spoiled(
        Clause.REWIRED_SIDE,
        3,
        lambda: past_the_amplifier(2),
        dated,
        EARLY,
        why="to an amplifier a second time",
    ),
]


@pytest.mark.parametrize("spoiled", STEPS, ids=str)
def test_what_is_wrong_with_a_step_is_named(spoiled: Spoiled) -> None:
    assert_named(spoiled)


def test_rewiring_that_the_question_allows_is_no_fault() -> None:
    spliced = the_shop(harness(rewires=True))
    allowed = asked(allowed_rewiring=frozenset({"front-harness"}))
    found = {x.clause for x in checked(spliced, allowed, good())}
    # It is no fault, but the plan did not say so.
    assert found == {Clause.CHANGES_TOLD}
