"""What the graph answers about a shop small enough to see through."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import networkx as nx
import pytest

from rules.catalog.part import Channel
from rules.catalog.rule import FlashNeeded, Operation, PresetChain, Requires
from rules.errors import UnknownBike, UnknownId, UnknownPart
from rules.graph import (
    ComesOffInCircle,
    Graph,
    build_graph,
    depends_on,
    feeding_channels,
    join,
    mates_of,
    operations_for,
    parts_that_mate,
    placements_that_mate,
    put,
    signal_paths,
    tear_down_order,
    thing,
    things,
    where_it_goes,
)
from rules.net import Sink
from tests.unit.catalogs import (
    UNKNOWN,
    adapter,
    all_of_kind,
    amplifier,
    bench,
    bike,
    bike_is,
    flash,
    harness,
    one,
    only,
    part,
    placed,
    power_kit,
    preset,
    radio,
    ring,
    rule,
    sends,
    shop,
    speaker,
    takes,
    with_stock,
)

LEFT_POD = Sink(one("works-pods@pods"), "left")
BUILT = "import sys\nfrom pathlib import Path\nfrom rules.graph import build_graph\nfrom rules.load import load_catalog\n"
PRINTED = (
    BUILT
    + "g = build_graph(load_catalog(Path(sys.argv[1])))\nprint(list(g.nodes.data()), list(g.edges.data()))\n"
)
ROOT = Path(__file__).parents[2]


def plug(owner: str, name: str, kind: str = "part"):
    return thing("connector", kind, owner, name)


def sources(graph, build, sink=LEFT_POD, **more):
    """Give the channels that could feed a speaker side, as `channel of part`."""
    return {
        f"{channel} of {owner}" for owner, channel in feeding_channels(graph, "curlew", build, **more)[sink]
    }


def way(path) -> list[str]:
    return [f"{near} {far}" for near, far in path.mates]


# What is in it.


def test_every_node_says_its_kind_and_every_edge_how_it_relates():
    graph = build_graph(shop(amplifier(), harness(), power_kit(), flash(), preset()))
    assert all(known["kind"] == node.kind for node, known in graph.nodes.data())
    assert all(known["relation"] for _, _, known in graph.edges.data())


def test_connectors_come_once_per_part_and_once_per_bike():
    graph = build_graph(shop(adapter()))
    names = [str(x) for x in things(graph, "connector")]
    assert names == [
        "connector bike/curlew/main",
        "connector bike/curlew/pods",
        "connector bike/curlew/post",
        "connector bike/curlew/rears",
        "connector part/blade-adapter/in",
        "connector part/blade-adapter/out",
        "connector part/works-pods/terminals",
        "connector part/works-radio/main",
    ]


def test_a_paired_connector_has_every_lane_on_both_sides():
    graph = build_graph(shop())
    lanes = [x.path[3:] for x in things(graph, "lane") if x.path[:2] == ("part", "works-pods")]
    assert lanes == [("left", "drive"), ("right", "drive")]


def test_a_part_without_a_slot_has_a_node_but_goes_nowhere():
    graph = build_graph(shop(preset()))
    assert where_it_goes(graph, "bench-preset") == {}


@pytest.mark.parametrize("seed", ["1", "2"])
def test_equal_catalogs_give_graphs_in_equal_order(seed):
    catalog = ROOT / "tests" / "contract" / "small_catalog"
    runs = [
        subprocess.run(
            [sys.executable, "-c", PRINTED, str(catalog)],
            cwd=ROOT,
            env={**os.environ, "PYTHONHASHSEED": hashed},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for hashed in ("0", seed)
    ]
    assert runs[0] == runs[1]
    assert "mates_with" in runs[0]


# What mates.


def test_terminals_mate_with_the_plug_on_the_loom():
    graph = build_graph(shop())
    assert mates_of(graph, plug("works-pods", "terminals")) == (
        plug("curlew", "pods", "bike"),
        plug("curlew", "rears", "bike"),
    )


def test_another_shape_mates_only_over_an_adapter():
    graph = build_graph(shop(adapter(), speaker("bladed", plug="blade")))
    assert parts_that_mate(graph, "bladed") == ("blade-adapter",)
    assert parts_that_mate(graph, "works-pods") == ()


def test_a_plug_on_the_loom_mates_with_what_can_be_placed_beside_it():
    graph = build_graph(shop(adapter()))
    found = placements_that_mate(graph, "curlew", "pods")
    assert [str(x) for x in found] == ["blade-adapter@pods", "works-pods@pods"]


def test_a_connector_with_a_place_of_its_own_mates_there_and_not_where_its_part_is():
    lead = part(
        "long-lead", "adapter", "adapter", connectors={"far": takes("pod", paired=True, place="pods")}
    )
    graph = build_graph(shop(lead))
    assert one("long-lead@rears") in placements_that_mate(graph, "curlew", "pods")
    assert one("long-lead@rears") not in placements_that_mate(graph, "curlew", "rears")


def test_a_part_goes_to_the_places_with_its_slot_that_it_allows():
    graph = build_graph(shop(ring(), ring("pod-ring", at=("pods",))))
    assert where_it_goes(graph, "spacer-ring") == {"curlew": ("pods", "rears")}
    assert where_it_goes(graph, "pod-ring") == {"curlew": ("pods",)}


# Where a signal goes.


def test_the_stock_radio_feeds_the_stock_pods_over_the_loom():
    graph = build_graph(shop())
    (path,) = (x for x in signal_paths(graph, "curlew", with_stock()) if x.sink == LEFT_POD)
    assert (path.owner, path.channel) == (one("works-radio@dash"), "front-left")
    assert way(path) == ["loom:main works-radio@dash:main", "loom:pods works-pods@pods:terminals"]


def test_with_an_amplifier_there_are_two_ways_to_feed_the_pods():
    graph = build_graph(shop(amplifier(), harness(), power_kit()))
    build = with_stock("fulmar@tray", "front-harness@dash", "power-kit@battery")
    assert sources(graph, build) == {"front-left of works-radio@dash", "left of fulmar@tray"}


def test_a_channel_that_waits_for_a_flash_feeds_nothing_without_it():
    graph = build_graph(shop(radio("new-radio", needs="rears-on"), flash(host="new-radio"), speaker()))
    without = frozenset({one("new-radio@dash"), one("petrel@rears")})
    rear = Sink(one("petrel@rears"), "left")
    assert sources(graph, without, rear) == set()
    assert sources(graph, without | {one("rear-flash@dash")}, rear) == {"rear-left of new-radio@dash"}


def test_a_plug_that_may_not_be_there_counts_only_if_asked_for():
    on = bike(take_off=False)
    plugs = {**on.has.loom.connectors, "rears": sends("pod", paired=True, place="rears", presence=UNKNOWN)}
    links = {**on.has.loom.links, "rears.drive": "main.rear_$side"}
    on.has.loom.connectors.update(plugs)
    on.has.loom.links.update(links)
    graph = build_graph(shop(speaker(), on=on))
    build, rear = with_stock("petrel@rears"), Sink(one("petrel@rears"), "right")
    assert sources(graph, build, rear) == set()
    assert sources(graph, build, rear, unknown_plugs=True) == {"rear-right of works-radio@dash"}


def test_a_path_never_asks_a_plug_for_more_than_it_takes():
    # The second adapter could only come between the first and the pods by mating with its own kind.
    graph = build_graph(shop(adapter("one", "pod", "pod"), adapter("two", "pod", "pod")))
    build = with_stock("one@pods", "two@pods")
    ways = [way(x) for x in signal_paths(graph, "curlew", build) if x.sink == LEFT_POD]
    assert sorted(map(len, ways)) == [2, 3, 3, 4, 4]
    assert all(len(set(x)) == len(x) for x in ways)


@pytest.mark.parametrize(("takes_up_to", "found"), [(1, []), (2, ["a"])])
def test_a_path_passes_a_plug_in_and_out_only_if_it_takes_two(takes_up_to, found):
    graph: Graph = nx.DiGraph()
    put(graph, thing("bike", "curlew"))
    lanes = {}
    for owner, name, *ends in (("source", "out", "p"), ("box", "both", "p", "q"), ("pair", "terminals", "q")):
        put(graph, plug(owner, name), takes=takes_up_to if owner == "box" else 1)
        join(graph, thing("part", owner), "carries", plug(owner, name))
        for end in ends:
            lanes[owner, end] = put(graph, thing("lane", "part", owner, name, "left", end))
            join(graph, plug(owner, name), "has_lane", lanes[owner, end])
    put(graph, lanes["pair", "q"], sounds="left")
    join(graph, thing("channel", "source", "a"), "comes_out_at", lanes["source", "p"])
    join(graph, lanes["box", "p"], "leads_to", lanes["box", "q"])
    join(graph, plug("source", "out"), "mates_with", plug("box", "both"))
    join(graph, plug("box", "both"), "mates_with", plug("pair", "terminals"))
    build = placed("source@pods", "box@pods", "pair@pods")
    assert [path.channel for path in signal_paths(graph, "curlew", build)] == found


def test_a_channel_feeds_its_lane_even_where_a_wire_leads_there_too():
    ears = radio("eared-radio")
    plugs = {**ears.connectors, "ear": takes("line")}
    ears = ears.model_copy(update={"connectors": plugs, "links": {"main.front_left": "ear.line"}})
    channel = Channel(id="tune", output="line.line", watts={"4": 1.0}, min_ohm=2.0)
    tuner = part("tuner", "harness", "harness", connectors={"line": sends("line")}, channels=(channel,))
    catalog = shop(ears, tuner)
    build = placed("eared-radio@dash", "tuner@dash", "works-pods@pods")
    assert sources(build_graph(catalog), build) == {"front-left of eared-radio@dash"}
    assert len(bench(catalog).net(build, unknown_plugs=False).reach(LEFT_POD)) == 1


# What needs what.


def test_a_part_depends_on_its_host_and_on_what_its_host_needs():
    fascia = part("fascia", "bezel", None)
    needs = rule(Requires, "needs_fascia", subject=only("works-radio"), needs=only("fascia"))
    graph = build_graph(shop(flash(), fascia, needs))
    found = [(x.part, x.need, x.any_of) for x in depends_on(graph, "rear-flash")]
    assert found == [
        ("rear-flash", ("host", "rear-flash"), ("works-radio",)),
        ("works-radio", ("rule", "needs_fascia"), ("fascia",)),
    ]


def test_a_need_with_a_condition_and_a_channels_own_are_needed_sometimes():
    needs = rule(
        FlashNeeded, subject=only("works-radio"), needs=only("rear-flash"), when=bike_is("trim", "plain")
    )
    waiting = radio("new-radio", needs="rears-on")
    graph = build_graph(shop(flash(), waiting, needs))
    radios, *_ = depends_on(graph, "works-radio")
    assert (radios.need, radios.sometimes) == (("rule", "the_rule"), True)
    channels, *_ = depends_on(graph, "new-radio")
    assert (channels.need, channels.sometimes) == (("tag", "rears-on"), True)


def test_parts_that_need_each_other_are_each_named_once():
    there = rule(Requires, "there", subject=only("one"), needs=only("two"))
    back = rule(Requires, "back", subject=only("two"), needs=only("one"))
    graph = build_graph(shop(ring("one"), ring("two"), there, back))
    assert [x.part for x in depends_on(graph, "one")] == ["one", "two"]


def test_an_amplifier_of_a_chain_needs_a_preset_even_if_nobody_makes_one():
    chain = rule(PresetChain, subject=all_of_kind("amplifier"))
    made, unmade = (build_graph(shop(amplifier(), chain, *more)) for more in ((preset(),), ()))
    assert [x.any_of for x in depends_on(made, "fulmar")] == [("bench-preset",)]
    assert [x.any_of for x in depends_on(unmade, "fulmar")] == [()]


def test_a_part_without_needs_depends_on_nothing():
    assert depends_on(build_graph(shop()), "works-pods") == ()


# In which order things come apart.


def work(name: str, *after: str, **more):
    return rule(Operation, name, minutes=10, after=after, **more)


def test_things_come_apart_in_order_and_equals_by_name():
    graph = build_graph(
        shop(
            work("tank_up", "seat_off"),
            work("seat_off"),
            work("run_lead", "tank_up", "lid_off"),
            work("lid_off"),
        )
    )
    assert tear_down_order(graph, ["run_lead"]) == ("lid_off", "seat_off", "tank_up", "run_lead")


def test_what_a_bike_does_not_ask_for_is_left_out_with_all_behind_it():
    graph = build_graph(shop(work("tank_up", "seat_off"), work("seat_off"), work("run_lead", "tank_up")))
    assert tear_down_order(graph, ["run_lead"], left_out=["tank_up"]) == ("run_lead",)
    assert tear_down_order(graph, ["run_lead", "tank_up"], left_out=["tank_up"])[-1] == "run_lead"


def test_work_that_could_begin_nowhere_names_its_circle():
    graph = build_graph(shop(work("b", "a"), work("c", "b"), work("a", "c"), work("last", "a")))
    with pytest.raises(ComesOffInCircle) as caught:
        tear_down_order(graph, ["last"])
    assert caught.value.circle == ("a", "b", "c", "a")
    assert str(caught.value) == "work could not begin anywhere: a before b before c before a"


def test_operations_are_found_by_part_and_action():
    graph = build_graph(
        shop(
            work("fit_it", subject=all_of_kind("speaker"), action="add"),
            work("pull_it", subject=only("works-pods"), action="remove"),
        )
    )
    assert operations_for(graph, "works-pods", "add") == ("fit_it",)
    assert operations_for(graph, "works-pods", "remove") == ("pull_it",)
    assert operations_for(graph, "works-radio", "add") == ()


# What it does not know.


@pytest.mark.parametrize("ask", [where_it_goes, depends_on, parts_that_mate])
def test_an_unknown_part_is_met_with_the_nearest(ask):
    with pytest.raises(UnknownPart) as caught:
        ask(build_graph(shop()), "works-pod")
    assert caught.value.nearest[0] == "works-pods"


def test_an_unknown_bike_is_met_with_the_nearest():
    with pytest.raises(UnknownBike) as caught:
        list(signal_paths(build_graph(shop()), "curlow", with_stock()))
    assert caught.value.nearest == ("curlew",)


def test_an_unknown_operation_is_met_with_the_nearest():
    with pytest.raises(UnknownId, match="no such operation") as caught:
        tear_down_order(build_graph(shop(work("seat_off"))), ["seat_of"])
    assert caught.value.nearest == ("seat_off",)


def test_a_graph_may_be_put_together_by_hand():
    graph: Graph = nx.DiGraph()
    join(graph, plug("one", "in"), "mates_with", plug("two", "out"))
    assert mates_of(graph, plug("one", "in")) == (plug("two", "out"),)
