"""What is said of amplifiers wherever some parts are there is so in every build with these parts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from random import Random

import pytest

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.part import Part
from rules.desk import Desk
from rules.engine import Engine
from rules.path import problem_of
from rules.plan import bonds
from rules.plan.bond import Binder, Bond
from rules.plan.solve import Outcome, Search
from rules.tables import Tables
from rules.wiring import Option
from tests.oracle.planner import seed_of
from tests.oracle.plugs import sends
from tests.oracle.realistic import Instance, realistic
from tests.oracle.small_shop import (
    LOWEST,
    SPEAKER_POWER,
    amplifier,
    harness,
    kit,
    preset,
    rear_lead,
    shop,
    speaker,
)

CHAINED, TOO_STRONG = (1, 2), (1, 4)
"""Seeds and numbers of questions whose amplifiers need presets always, and while they are too strong for a pair."""

TRIES = 20
"""Builds in which each bond is tried."""


def _medium(seed: int, number: int) -> Instance:
    return realistic("medium", seed_of(seed, number))


def _searched(instance: Instance, monkeypatch: pytest.MonkeyPatch) -> tuple[Desk, list[Bond], Outcome]:
    """Search with the solver; give what was bound on the way."""
    found: list[Bond] = []
    learn = bonds.Bonds.learn

    def watched(self: bonds.Bonds, *asked: object) -> Iterator[Bond]:
        for bond in learn(self, *asked):  # type: ignore[arg-type]
            found.append(bond)
            yield bond

    monkeypatch.setattr(bonds.Bonds, "learn", watched)
    desk = Engine(instance.catalog).desk(instance.question.bike, instance.question.found)
    problem = problem_of(desk, instance.question)
    search = Search(desk=desk, problem=problem, laws=desk.verified, by_path=True, by_tour=False)
    with desk.bench.tables.effort.on("paths"):
        outcome = search.run()
    return desk, found, outcome


def _wirings_beside(desk: Desk, bond: Bond, rng: Random) -> Iterator[tuple[Option, ...]]:
    """Give the wirings of builds that hold what a bond takes, beside other parts at random."""
    seen = [x for x in desk.examiner.examined() if bond.present & x and desk.examine(x).options]
    others = sorted(frozenset().union(*seen) - bond.present)
    for _ in range(TRIES):
        build = set(rng.choice(seen)) | bond.present
        for x in rng.sample(others, rng.randrange(4)):
            build ^= {x}
        yield desk.examine(_with_room(desk, build, bond)).options


def _with_room(desk: Desk, build: set[Placement], bond: Bond) -> Build:
    """Leave out what has no room beside the parts that are bound, and what is absent there."""
    slots: dict[tuple[str, str], int] = {}
    kept = set()
    for x in (*sorted(bond.present), *sorted(build - bond.present - bond.absent)):
        slot = x.place, desk.bench.part(x).slot or ""
        slots[slot] = slots.get(slot, 0) + 1
        if slots[slot] <= desk.bench.capacity(*slot):
            kept.add(x)
    return frozenset(kept)


def _obeys(option: Option, bond: Bond, desk: Desk) -> bool:
    if bond.pair is None:
        return bond.amplifier in option.capped or desk.bench.is_chained(bond.amplifier)
    feeding = {fed.owner for sink, fed in option.feeds.items() if sink.speaker == bond.pair}
    return feeding == {bond.amplifier}


@pytest.mark.parametrize(("seed", "number"), [CHAINED, TOO_STRONG], ids=["chained", "too strong"])
def test_what_is_bound_is_so_in_every_wiring_of_every_build_with_these_parts(
    seed: int, number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    desk, found, _ = _searched(_medium(seed, number), monkeypatch)
    assert {bond.pair is None for bond in found} == {True, False}
    rng = Random(number)
    tried = 0
    for bond in found:
        for options in _wirings_beside(desk, bond, rng):
            tried += len(options)
            assert all(_obeys(option, bond, desk) for option in options), bond
    assert tried > TRIES


def test_one_preset_that_is_missing_tells_of_all_the_ways_to_miss_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """A question of which 25 proposals lacked a preset, each with another power kit, lead or pair."""
    instance = _medium(2, 3)
    desk, found, outcome = _searched(instance, monkeypatch)
    assert outcome.state == "proven"
    assert desk.bench.tables.effort.spent["paths", "schedules"] < 20
    assert found


# A small shop -----------------------------------------------------------------------------------------------------

AMP, OTHER_AMP = Placement("amp", "tray"), Placement("other-amp", "tray")
HARNESS, LEAD = Placement("harness", "dash"), Placement("lead", "tray")
STOCK_FRONT, REAR = Placement("stock-front", "fairing_pods"), Placement("rear", "rear_pods")


def _one_pair_for_both() -> tuple[Part, int]:
    """Give a harness that leads one pair of channels to the fronts and to a plug for the rears."""
    base, price = harness()
    plugs = {**base.connectors, "rear-end": sends("take", place="tray")}
    links = {**base.links, "rear-end.rear_$side": "amp-end.amp_$side"}
    return base.model_copy(update={"connectors": plugs, "links": links}), price


def _bench(room: int = 1) -> tuple[Desk, Build]:
    """Give a bike, and what may come: an amplifier of 50 W that is too strong for one pair of 30 W, and not for two.

    Args:
        room: How many amplifiers the tray takes.
    """
    one_pair = ((50.0, 2.0),)
    goods = (
        amplifier(pairs=one_pair),
        amplifier("other-amp", pairs=one_pair),
        _one_pair_for_both(),
        kit(),
        preset(),
        rear_lead(),
        speaker("rear", at=("rear_pods",)),
    )
    catalog = shop(*goods, rules=(LOWEST, SPEAKER_POWER))
    tray = catalog.places["tray"]
    wide = tray.model_copy(update={"slots": {**tray.slots, "amplifier": room}})
    catalog = replace(catalog, places={**catalog.places, "tray": wide})
    desk = Desk.for_bench(Bench(Tables(catalog), catalog.bikes["plover"]))
    return desk, desk.bench.universe | desk.bench.present


def _amplified(desk: Desk, *more: Placement) -> Build:
    return desk.bench.present | {AMP, HARNESS, Placement("kit", "battery"), *more}


def _needing(desk: Desk, candidates: Build) -> Bond | None:
    build = _amplified(desk)
    return Binder(desk.bench, candidates).needing(build, desk.examine(build).options, AMP)


def test_an_amplifier_that_is_too_strong_for_one_pair_needs_a_preset_while_no_other_shares_its_channels():
    desk, candidates = _bench()
    bond = _needing(desk, candidates)
    assert bond is not None
    assert {AMP, STOCK_FRONT} <= bond.present
    assert REAR in bond.absent
    with_rears = _amplified(desk, LEAD, REAR)
    assert any(not x.capped for x in desk.examine(with_rears).options)
    assert not bond.holds_in(with_rears)


def test_a_pair_that_may_come_later_is_absent_as_well():
    desk, candidates = _bench()
    bond = _needing(desk, candidates - {REAR, LEAD})
    assert bond is not None
    assert REAR in bond.absent


@pytest.mark.parametrize(("room", "absent"), [(1, frozenset()), (2, frozenset({OTHER_AMP}))])
def test_an_amplifier_feeds_the_fronts_behind_its_harness_unless_there_is_room_for_another(
    room: int, absent: Build
) -> None:
    desk, candidates = _bench(room)
    build = _amplified(desk)
    bound = Bond(AMP, STOCK_FRONT, frozenset({AMP, HARNESS, STOCK_FRONT}), absent)
    options = desk.examine(build).options
    assert Binder(desk.bench, candidates).feeding(build, options, AMP, STOCK_FRONT) == bound
    among_these = Binder(desk.bench, build).feeding(build, options, AMP, STOCK_FRONT)
    assert among_these is not None
    assert among_these.absent >= absent


def test_a_pair_that_the_bike_may_feed_too_is_bound_to_no_amplifier():
    desk, candidates = _bench()
    build = _amplified(desk, LEAD, REAR)
    options = desk.examine(build).options
    assert Binder(desk.bench, candidates).feeding(build, options, AMP, REAR) is None
