"""Section 1 of the definitions: placements, mates, what is needed, what feeds what, how the bike is wired now."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from rules.build import AsFound
from rules.catalog.catalog import Catalog
from rules.catalog.connector import ContactMap
from rules.checker import Clause
from tests.unit.catalogs import UNKNOWN, amplifier, as_found, bike, flash, power_kit, radio, sends, takes
from tests.unit.rules_checker.spoil import (
    FACTS,
    QUESTION,
    Spoiled,
    asked,
    assert_named,
    checked,
    good,
    the_shop,
    with_mates,
    with_more,
)

LUG = "loom:post = power-kit@battery:lug"
OUT = "front-harness@dash:amp-end = fulmar@tray:out"
LINE = "front-harness@dash:line-end = fulmar@tray:line"
RADIO_END = "front-harness@dash:radio-end = works-radio@dash:main"
PODS = "loom:pods = petrel@pods:terminals"
MAIN = "loom:main = works-radio@dash:main"


def mates(*gain: str, lose: tuple[str, ...] = (), visit: int = 2) -> Any:
    return lambda: with_mates(good(), visit, lose, gain)


def crossed() -> Catalog:
    """Give the shop with an amplifier whose left and right are crossed over at its plug."""
    plugs = {**amplifier().connectors, "out": sends("amp-crossed", "socket")}
    catalog = the_shop(amplifier(mass_kg=2.0, watts=25.0, connectors=plugs))
    contacts = {"1": "out amp_right", "2": "out amp_left"}
    maps = {
        **catalog.contact_maps,
        "amp-crossed": ContactMap(id="amp-crossed", type="amp", contacts=contacts),
    }
    return replace(catalog, contact_maps=maps)


def lineless() -> Catalog:
    """Give the shop with an amplifier that plays without its line."""
    plugs = {**amplifier().connectors, "line": takes("line")}
    return the_shop(amplifier(mass_kg=2.0, watts=25.0, connectors=plugs))


def unsure(plug: str) -> Catalog:
    """Give the shop with a bike of which nobody knows whether a plug is there."""
    found = bike(facts=dict(FACTS))
    loom = found.has.loom
    asked_of = {**loom.connectors, plug: loom.connectors[plug].model_copy(update={"presence": UNKNOWN})}
    has = found.has.model_copy(update={"loom": loom.model_copy(update={"connectors": asked_of})})
    return the_shop(on=replace(found, has=has))


WIRING = [
    Spoiled(Clause.PLACEMENT, 1, lambda: with_more(good(), 1, "fulmar@pods"), why="no such slot there"),
    Spoiled(Clause.PLACEMENT, 1, lambda: with_more(good(), 1, "petrel@boot"), why="no such place"),
    Spoiled(Clause.PLACEMENT, 1, lambda: with_more(good(), 1, "bittern@pods"), why="no such part"),
    Spoiled(Clause.NO_SUCH_PLUG, 2, mates("loom:posts = power-kit@battery:lug", lose=(LUG,))),
    Spoiled(Clause.NO_SUCH_PLUG, 1, mates(LUG, visit=1), why="its part is not there yet"),
    Spoiled(Clause.MATE, 2, mates("front-harness@dash:radio-end = loom:main"), why="two plugs of one gender"),
    Spoiled(Clause.MATE, 2, mates("fulmar@tray:line = loom:main"), why="another place"),
    Spoiled(Clause.MATE, 2, mates("front-harness@dash:line-end = fulmar@tray:power"), why="another type"),
    Spoiled(Clause.MATE, 2, catalog=crossed, why="contacts that do not agree"),
    Spoiled(Clause.ACCEPTS, 2, mates(MAIN), why="one plug, two mates"),
    Spoiled(Clause.NEEDED, 2, mates(lose=(LUG,))),
    Spoiled(Clause.NEEDED, 2, mates(lose=(LINE,)), why="at an amplifier's line"),
    Spoiled(Clause.FEED, 1, mates(lose=(MAIN,), visit=1), why="the radio is not plugged in"),
    Spoiled(Clause.FEED, 1, mates(lose=(PODS,), visit=1), why="the speakers are not"),
    Spoiled(Clause.FEED, 2, mates(lose=(OUT,)), why="nothing comes out of the amplifier"),
    Spoiled(
        Clause.FEED,
        1,
        catalog=lambda: the_shop(
            replace_front(radio(stock_only=True), needs="fronts-on"), flash(tag="fronts-on")
        ),
        why="a channel that waits for a flash",
    ),
    Spoiled(Clause.USELESS_MATE, 2, catalog=lineless),
    Spoiled(
        Clause.PRESENT_WIRING,
        0,
        question=asked(found=AsFound(wiring=frozenset({("loom:pods", "works-radio@dash:main")}))),
    ),
    Spoiled(
        Clause.NEEDED,
        0,
        lambda: replace(good(), start_wiring=frozenset()),
        why="on the bike as it is now",
    ),
    Spoiled(Clause.MAY_NOT_BE_THERE, 2, catalog=lambda: unsure("post")),
]


def replace_front(head: Any, needs: str) -> Any:
    """Give a head unit whose front channels are silent without a flash."""
    channels = tuple(
        x.model_copy(update={"needs": needs}) if x.id.startswith("front") else x for x in head.channels
    )
    return head.model_copy(update={"channels": channels})


@pytest.mark.parametrize("spoiled", WIRING, ids=str)
def test_what_is_wrong_with_a_wiring_is_named(spoiled: Spoiled) -> None:
    assert_named(spoiled)


def test_a_plug_that_is_mated_already_is_there() -> None:
    """The speakers' plug may not be there, but the works speakers hang on it."""
    assert not checked(unsure("pods"), QUESTION, good())


def test_a_plug_that_somebody_looked_for_and_found_is_there() -> None:
    measured = {"loom.connectors.post.presence": True}
    assert not checked(unsure("post"), asked(found=as_found(measured=measured)), good())


def test_a_plug_that_somebody_looked_for_and_did_not_find_is_not_there() -> None:
    measured = {"loom.connectors.post.presence": False}
    question = asked(found=as_found(measured=measured))
    assert_named(Spoiled(Clause.NO_SUCH_PLUG, 2, catalog=lambda: unsure("post"), question=question))


def test_a_kit_with_a_second_plug_that_nobody_uses_is_right() -> None:
    assert not checked(the_shop(power_kit(takes_up_to=2)), QUESTION, good())
