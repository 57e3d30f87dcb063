"""The graph says of the whole demo what the compiled tables say, which answer in its place."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from functools import cache
from itertools import islice
from pathlib import Path
from random import Random

import pytest

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.rule import Operation
from rules.engine import Engine
from rules.graph import (
    Graph,
    Thing,
    ahead,
    build_graph,
    feeding_channels,
    mates_of,
    operations_for,
    parts_that_mate,
    placements_that_mate,
    signal_paths,
    tear_down_order,
    thing,
    things,
    where_it_goes,
)
from rules.load import load_catalog
from rules.net import Fed
from rules.pricing import _NOWHERE, Pricer
from rules.question import FitQuestion
from rules.tables import rules_of_kind
from rules.troubles import unchecked_wirings
from rules.verdict import Verdict
from rules.wiring import mated_nodes

DEMO = Path(__file__).parents[2] / "catalog_demo"
DAY = date(2026, 6, 15)
ACTIONS = ("add", "remove", "preset")
WIRINGS = 30
ASKED_BIKES = 4
ASKED_EACH = 10


@cache
def engine() -> Engine:
    return Engine(load_catalog(DEMO))


@cache
def graph() -> Graph:
    return build_graph(engine().catalog)


def bench(bike: str) -> Bench:
    return engine().desk(bike).bench


def spread(items: tuple[str, ...], count: int) -> tuple[str, ...]:
    """Give some of many, far from each other."""
    return items[:: max(1, len(items) // count)][:count]


@cache
def bikes() -> tuple[str, ...]:
    return tuple(sorted(engine().catalog.bikes))


def parts_with_plugs() -> list[str]:
    """Give all parts that a wiring could need, in a mixed order, so that the first few are of every kind."""
    parts = [part.id for part in engine().catalog.parts.values() if part.slot and part.connectors]
    return Random(89).sample(parts, len(parts))


def questions(bike: str) -> Iterator[FitQuestion]:
    """Ask for each part at one of its places, now the first, now the last."""
    for index, part in enumerate(parts_with_plugs()):
        places = sorted(placed.place for placed in bench(bike).universe if placed.part == part)
        if places:
            yield FitQuestion(bike=bike, part=part, place=places[index % len(places)], on=DAY)


@cache
def completed_builds() -> tuple[tuple[str, Build], ...]:
    """Give builds that answers need more than the asked part for, on bikes far from each other."""
    found: list[tuple[str, Build]] = []
    for bike in spread(bikes(), ASKED_BIKES):
        answers = (engine().fit(question) for question in questions(bike))
        completed = (x for x in answers if x.verdict is Verdict.FITS_WITH and x.extras)
        for answer in islice(completed, ASKED_EACH):
            asked = Placement(answer.part, answer.place or "")
            found.append((bike, bench(bike).present - set(answer.displaced) | {asked} | set(answer.extras)))
    return tuple(found)


def sampled_builds() -> list[tuple[str, Build]]:
    return [*((bike, bench(bike).present) for bike in bikes()), *completed_builds()]


def test_connectors_of_parts_mate_as_in_the_table_of_mates():
    tables = engine().tables
    numbers: dict[Thing, int] = {
        thing("connector", "part", part, name): number
        for part, wires in tables.wires.items()
        for name, number in wires.numbers.items()
    }
    mated = 0
    for one, number in numbers.items():
        mates = {other for other in mates_of(graph(), one) if other.path[0] == "part"}
        assert mates == {
            other for other, facing in numbers.items() if facing in tables.mates.mates(number)
        }, one
        mated += len(mates)
    assert mated > 1000


def test_mates_are_mates_both_ways():
    for one, other, known in graph().edges(data=True):
        if known["relation"] == "mates_with":
            assert graph().edges[other, one]["relation"] == "mates_with"


def test_parts_with_a_mate_are_those_with_a_number_that_mates():
    tables = engine().tables
    facing = {
        part: {mate for number in wires.numbers.values() for mate in tables.mates.mates(number)}
        for part, wires in tables.wires.items()
    }
    for part in tables.wires:
        found = {x for x, wires in tables.wires.items() if facing[part].intersection(wires.numbers.values())}
        assert set(parts_that_mate(graph(), part)) == found, part


def test_a_part_goes_where_the_bench_can_place_it():
    universes = {bike: bench(bike).universe for bike in bikes()}
    for part in engine().catalog.parts:
        found = {(bike, place) for bike, places in where_it_goes(graph(), part).items() for place in places}
        assert found == {
            (bike, placed.place) for bike in bikes() for placed in universes[bike] if placed.part == part
        }, part


def test_plugs_of_a_bike_mate_with_what_the_bench_offers_them():
    for bike in bikes():
        loom = bench(bike).loom
        for name, face in loom.faces.items():
            offered = bench(bike).mateable(loom.connectors[name].place or "", face)
            assert set(placements_that_mate(graph(), bike, name)) == offered, (bike, name)


def test_enough_builds_are_looked_at():
    assert len(completed_builds()) == ASKED_BIKES * ASKED_EACH
    kinds = {engine().catalog.parts[placed.part].kind for _, build in completed_builds() for placed in build}
    assert kinds >= {"amplifier", "head_unit", "harness", "power_kit", "speaker"}


@pytest.mark.parametrize("unknown_plugs", [False, True])
def test_channels_reach_the_speakers_that_the_net_says(unknown_plugs):
    reached = 0
    for bike, build in sampled_builds():
        net = bench(bike).net(build, unknown_plugs=unknown_plugs)
        found = feeding_channels(graph(), bike, build, unknown_plugs=unknown_plugs)
        assert found == {sink: net.reach(sink) for sink in net.sinks()}, (bike, sorted(build))
        reached += sum(map(len, found.values()))
    assert reached > 200


def test_every_feed_of_a_wiring_is_a_signal_path():
    for bike, build in sampled_builds():
        paths = {
            (path.sink, path.owner, path.channel, path.mates) for path in signal_paths(graph(), bike, build)
        }
        for option in islice(unchecked_wirings(bench(bike), build), WIRINGS):
            fed = {
                (sink, x.owner, x.channel.id, tuple(reversed(x.mates))) for sink, x in option.feeds.items()
            }
            assert fed <= paths, (bike, sorted(build))


def test_every_signal_path_is_followed_back_to_its_channel():
    seen = 0
    for bike, build in sampled_builds():
        net = bench(bike).net(build, unknown_plugs=False)
        for path in signal_paths(graph(), bike, build):
            fed = net.trace(path.sink, mated_nodes(frozenset(path.mates)))
            assert isinstance(fed, Fed)
            assert (fed.owner, fed.channel.id) == (path.owner, path.channel)
            seen += 1
    assert seen > 200


def test_operations_of_a_part_are_those_of_the_tables():
    for part, rules in engine().tables.operations.items():
        for action in (*ACTIONS, "replug"):
            listed = sorted(rule.id for rule in rules if rule.action == action)
            assert list(operations_for(graph(), part, action)) == listed, part


def test_tear_down_reaches_what_is_charged():
    operations = rules_of_kind(engine().catalog, Operation)
    charged = 0
    for bike in spread(bikes(), 12):
        pricer = Pricer(bench(bike))
        left_out = [rule.id for rule in operations if not pricer._applies(rule, _NOWHERE)]
        for placed in sorted(bench(bike).universe):
            for action in ACTIONS:
                work = pricer.operations(placed, action)
                own = {one.operation for one in work if one.of is not None}
                assert own <= set(operations_for(graph(), placed.part, action))
                order = tear_down_order(graph(), own, left_out)
                assert set(order) == {one.operation for one in work}, (bike, placed, action)
                charged += len(order)
    assert charged > 1000


def test_tear_down_of_everything_keeps_every_order():
    operations = rules_of_kind(engine().catalog, Operation)
    order = tear_down_order(graph(), [rule.id for rule in operations])
    assert len(order) == len(operations)
    for rule in operations:
        assert all(order.index(first) < order.index(rule.id) for first in rule.after)


def test_lanes_lead_to_lanes_of_the_same_owner():
    for lane in things(graph(), "lane"):
        for other in ahead(graph(), lane, "leads_to"):
            assert (other.kind, other.path[:2]) == ("lane", lane.path[:2])
