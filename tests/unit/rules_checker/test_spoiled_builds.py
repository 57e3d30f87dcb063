"""Section 2 of the definitions: the same plan is wrong where a part, a bike or a rule is another."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from rules.build import AsFound
from rules.catalog.bike import BikePlace
from rules.catalog.catalog import Catalog
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Hold, MeasuredException, Requires
from rules.checker import Clause
from rules.question import Want
from tests.unit.catalogs import (
    DAY,
    MEASURED,
    UNKNOWN,
    all_of_kind,
    amplifier,
    as_found,
    bike,
    bike_is,
    fitted,
    one,
    only,
    power_kit,
    radio,
    ring,
    rule,
    speaker,
)
from tests.unit.rules_checker.spoil import (
    AUTUMN,
    FACTS,
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


def having(*more: Any) -> Callable[[], Catalog]:
    return lambda: the_shop(*more)


def amp(**more: Any) -> Callable[[], Catalog]:
    return having(amplifier(**{"mass_kg": 2.0, "watts": 25.0, **more}))


def petrel(**more: Any) -> Callable[[], Catalog]:
    return having(speaker(**{"mass_kg": 1.0, "tags": ("pod",), **more}))


def pods(**more: Any) -> Callable[[], Catalog]:
    return lambda: the_shop(too_deep(), on=bike(facts=dict(FACTS), pods=BikePlace(**more)))


def facts(**more: Any) -> Callable[[], Catalog]:
    return lambda: the_shop(on=bike(facts={**FACTS, **more}))


def too_deep(**more: Any) -> Any:
    """Speakers are 50 mm deep, the pods 60 mm."""
    subject = all_of_kind("speaker")
    return rule(
        Clearance,
        "too_deep",
        subject=subject,
        spec="depth_mm",
        geometry="depth_mm",
        relation="at_most",
        **more,
    )


def tried(outcome: str, **more: Any) -> Any:
    return rule(
        MeasuredException,
        "tried",
        overrides="too_deep",
        subject=only("petrel"),
        outcome=outcome,
        source=MEASURED,
        **more,
    )


def bridged() -> Any:
    found = amplifier(mass_kg=2.0, watts=25.0)
    left, right = found.channels
    return found.model_copy(update={"channels": (left.model_copy(update={"bridges": ("right",)}), right)})


DRY: dict[str, Any] = {"subject": only("petrel"), "needs": only("damping")}
FLASHED: dict[str, Any] = {"subject": all_of_kind("head_unit"), "needs": only("rear-flash")}
ALONE: dict[str, Any] = {"subject": only("petrel"), "together_with": only("spacer-ring")}
UNSAID = bike_is("never_recorded", value=True)

BUILDS = [
    Spoiled(Clause.SLOT, 1, lambda: with_more(good(), 1, "dunlin@pods"), why="two pairs"),
    Spoiled(Clause.CARRIER, 1, catalog=pods(geometry={"depth_mm": 60.0}, carrier_needed=True)),
    Spoiled(
        Clause.CARRIER, 1, catalog=pods(geometry={"depth_mm": 60.0}, carrier_needed=UNKNOWN), why="unknown"
    ),
    Spoiled(Clause.HOST, 2, catalog=amp(host=("dunlin",))),
    Spoiled(Clause.CLEARANCE, 1, catalog=pods(geometry={"depth_mm": 49.9})),
    Spoiled(Clause.CLEARANCE, 1, catalog=pods(geometry={"depth_mm": UNKNOWN}), why="unknown room"),
    Spoiled(Clause.CLEARANCE, 1, catalog=pods(), why="never measured"),
    Spoiled(Clause.CLEARANCE, 1, catalog=having(too_deep(margin=10.1)), why="margin"),
    Spoiled(
        Clause.CLEARANCE,
        1,
        catalog=having(
            too_deep(margin=16.0, relieved_by_slot="ring", relieved_by_spec="height_mm"), ring(height=5.9)
        ),
        why="not relieved enough",
    ),
    Spoiled(
        Clause.CLEARANCE,
        1,
        catalog=having(too_deep(margin=20.0, when=UNSAID)),
        why="under a condition that nobody knows",
    ),
    Spoiled(Clause.REQUIRES, 1, catalog=having(rule(Requires, **DRY))),
    Spoiled(
        Clause.REQUIRES,
        1,
        catalog=having(
            rule(Requires, subject=only("petrel"), needs=all_of_kind("head_unit"), same_place=True)
        ),
        why="in the same place",
    ),
    Spoiled(Clause.FLASH_NEEDED, 1, catalog=having(rule(FlashNeeded, **FLASHED))),
    Spoiled(
        Clause.FLASH_NEEDED,
        1,
        catalog=having(rule(FlashNeeded, subject=all_of_kind("head_unit"), needs=only("petrel"))),
        why="not with its head unit",
    ),
    Spoiled(Clause.EXCLUDES, 1, catalog=having(rule(Excludes, **ALONE))),
    Spoiled(
        Clause.EXCLUDES,
        1,
        catalog=having(rule(Excludes, subject=only("petrel"), when=bike_is("trim", "plain"))),
        why="on such a bike",
    ),
    Spoiled(
        Clause.EXCLUDES,
        2,
        catalog=having(rule(Excludes, subject=only("petrel"), when=fitted("fulmar"))),
        why="once the amplifier is there",
    ),
    Spoiled(Clause.MEASURED_EXCEPTION, 1, catalog=having(too_deep(), tried("refuse"))),
    Spoiled(
        Clause.CLEARANCE,
        1,
        catalog=having(too_deep(margin=20.0), tried("allow", when=UNSAID)),
        why="an exception that nobody knows to hold",
    ),
    Spoiled(Clause.MASS, 2, catalog=facts(fairing_most_kg=2.9)),
    Spoiled(Clause.MASS, 1, catalog=facts(fairing_most_kg=UNKNOWN), why="unknown limit"),
    Spoiled(Clause.MASS, 2, catalog=amp(mass_kg=UNKNOWN), why="unknown mass"),
    Spoiled(
        Clause.HOLD, 2, catalog=having(rule(Hold, subject=only("fulmar"), first=DAY, last=AUTUMN)), why="stop"
    ),
    Spoiled(
        Clause.UNKNOWN_WORK,
        2,
        question=asked(found=AsFound(unknown_work=frozenset({"tray"}))),
        why="placement",
    ),
    Spoiled(
        Clause.UNKNOWN_WORK, 1, question=asked(found=AsFound(unknown_work=frozenset({"pods"}))), why="feed"
    ),
    Spoiled(Clause.LOWEST_IMPEDANCE, 2, catalog=amp(lowest=4.1)),
    Spoiled(Clause.LOWEST_IMPEDANCE, 2, catalog=amp(lowest=UNKNOWN), why="unknown limit"),
    Spoiled(Clause.LOWEST_IMPEDANCE, 1, catalog=petrel(ohm=UNKNOWN), why="unknown impedance"),
    Spoiled(Clause.BRIDGE, 2, catalog=having(bridged())),
    Spoiled(Clause.SPEAKER_POWER, 1, catalog=having(radio(watts=31.0, stock_only=True))),
    Spoiled(Clause.SPEAKER_POWER, 2, catalog=amp(watts=UNKNOWN), why="unknown power"),
    Spoiled(Clause.SPEAKER_POWER, 1, catalog=petrel(rms=UNKNOWN), why="unknown rating"),
    Spoiled(
        Clause.PRESET,
        2,
        lambda: with_visit(good(), 2, presets=()),
        why="none made",
    ),
    Spoiled(Clause.PRESET, 2, catalog=lambda: the_shop(without=("preset_needed",)), why="none needed"),
    Spoiled(
        Clause.PRESET,
        2,
        lambda: with_visit(good(), 2, presets=good().visits[1].presets * 2),
        why="made twice",
    ),
    Spoiled(
        Clause.PRESET,
        2,
        lambda: with_visit(good(), 2, presets=()),
        lambda: the_shop(amplifier(mass_kg=2.0, watts=31.0), without=("preset_needed",)),
        why="that must cap",
    ),
    Spoiled(Clause.FUSE, 2, catalog=having(power_kit(fuses=(30.0,))), why="none in the bag"),
    Spoiled(Clause.FUSE, 2, catalog=amp(fuse=UNKNOWN), why="unknown"),
    Spoiled(Clause.FUSE, 2, catalog=having(power_kit(ampacity=19.0)), why="above the cable"),
    Spoiled(Clause.AMPACITY, 2, catalog=amp(full=40.5)),
    Spoiled(Clause.AMPACITY, 2, catalog=amp(full=UNKNOWN), why="unknown"),
    Spoiled(Clause.VOLTAGE_DROP, 2, catalog=having(power_kit(length=9.4))),
    Spoiled(Clause.VOLTAGE_DROP, 2, catalog=having(power_kit(area=UNKNOWN)), why="unknown"),
    Spoiled(Clause.CHARGING, 2, catalog=facts(charging_headroom_a=2.5)),
    Spoiled(Clause.CHARGING, 2, catalog=facts(charging_headroom_a=UNKNOWN), why="unknown"),
    Spoiled(Clause.CHARGING, 2, catalog=amp(idle=UNKNOWN), why="unknown draw"),
]


@pytest.mark.parametrize("spoiled", BUILDS, ids=str)
def test_what_is_wrong_with_a_build_is_named(spoiled: Spoiled) -> None:
    assert_named(spoiled)


RIGHT = {
    "a speaker that just clears": having(too_deep(margin=10.0)),
    "a ring that relieves just enough": having(
        too_deep(margin=16.0, relieved_by_slot="ring", relieved_by_spec="height_mm")
    ),
    "a rule whose condition does not hold": having(
        rule(Excludes, subject=only("petrel"), when=bike_is("trim", "fair"))
    ),
    "an exception that allows": having(too_deep(margin=20.0), tried("allow")),
    "an exception that does not hold": having(too_deep(), tried("refuse", when=bike_is("trim", "fair"))),
    "a mass at the limit": facts(fairing_most_kg=3.0),
    "a load at the limit": amp(lowest=4.0),
    "a draw at the limit of the cable": amp(full=40.0, fuse=30.0),
    "an unknown that does not matter": pods(geometry={"depth_mm": 60.0, "hinge_mm": UNKNOWN}),
    "a hold that has ended": having(
        rule(Hold, subject=only("petrel"), first=DAY.replace(year=2029), last=DAY.replace(month=4))
    ),
}


@pytest.mark.parametrize("name", RIGHT)
def test_what_just_holds_is_no_fault(name: str) -> None:
    assert not checked(RIGHT[name](), QUESTION, good())


def test_works_speakers_that_would_not_clear_are_not_asked() -> None:
    """The bike left the works with them."""
    works = speaker("works-pods", stock_only=True, spec={"depth_mm": 99.0})
    amplified = asked(wants=(Want(parts=("fulmar",)),))
    plan = planned(the_shop(), amplified)
    assert one("works-pods@pods") in plan.visits[-1].build
    assert not checked(the_shop(too_deep(), works), amplified, plan)


def test_a_measured_fact_replaces_the_bikes() -> None:
    deep = asked(found=as_found(measured={"places.pods.geometry.depth_mm": 49.0}))
    assert_named(Spoiled(Clause.CLEARANCE, 1, catalog=having(too_deep()), question=deep))
