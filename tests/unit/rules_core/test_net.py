"""Where a feed comes from, and every way to wire a build."""

from __future__ import annotations

from rules.net import Fed, Node, Open, Sink
from rules.wiring import mated_nodes, wirings
from tests.unit.catalogs import (
    UNKNOWN,
    adapter,
    amplifier,
    bench,
    bike,
    flash,
    harness,
    one,
    power_kit,
    radio,
    sends,
    shop,
    speaker,
    with_stock,
)

LEFT_POD = Sink(one("works-pods@pods"), "left")


def ways(catalog, *texts, unknown_plugs=False):
    net = bench(catalog).net(with_stock(*texts), unknown_plugs=unknown_plugs)
    return net, list(wirings(net, net.needs(), net.sinks()))


def test_the_stock_radio_feeds_the_stock_pods_through_the_loom():
    _, (wiring,) = ways(shop())
    fed = wiring.feeds[LEFT_POD]
    assert (fed.owner, fed.channel.id) == (one("works-radio@dash"), "front-left")
    assert len(wiring.mates) == 2


def test_a_harness_puts_the_amplifier_between_radio_and_pods():
    catalog = shop(amplifier(), harness(), power_kit())
    net, (wiring,) = ways(catalog, "fulmar@tray", "front-harness@dash", "power-kit@battery")
    assert {(x.owner.part, x.channel.id) for x in wiring.feeds.values()} == {
        ("fulmar", "left"),
        ("fulmar", "right"),
    }
    traced = net.trace(LEFT_POD, mated_nodes(wiring.mates))
    assert isinstance(traced, Fed)
    assert [str(x) for pair in traced.mates[-1:] for x in pair] == [
        "front-harness@dash:amp-end",
        "fulmar@tray:out",
    ]


def test_a_feed_that_is_not_plugged_in_ends_at_the_open_plug():
    net, _ = ways(shop())
    assert net.trace(LEFT_POD, {}) == Open(Node(one("works-pods@pods"), "terminals"))


def test_a_feed_is_followed_on_from_the_plug_where_it_ended():
    net, (wiring,) = ways(shop())
    ended = net.trace(LEFT_POD, {})
    assert isinstance(ended, Open)
    mated = mated_nodes(wiring.mates)
    assert net.trace(LEFT_POD, mated, ended) == net.trace(LEFT_POD, mated) == wiring.feeds[LEFT_POD]


def test_a_channel_that_waits_for_a_flash_is_silent_until_the_flash_is_in_its_place():
    catalog = shop(radio(needs="rears-on", stock_only=True), speaker(), flash())
    assert not ways(catalog, "petrel@rears")[1]
    assert len(ways(catalog, "petrel@rears", "rear-flash@dash")[1]) == 1


def test_an_optional_plug_without_use_is_left_alone():
    spare = harness(name="spare").model_copy(
        update={"connectors": {"tap": sends("pod", place="pods")}, "links": {}}
    )
    _, (wiring,) = ways(shop(spare), "spare@dash")
    assert "spare" not in str(sorted(wiring.mates))


def test_a_needed_plug_without_a_mate_leaves_no_wiring():
    assert not ways(shop(amplifier()), "fulmar@tray")[1]


def test_two_ways_to_feed_a_pair_come_once_each():
    both = [adapter("first", outer="pod"), adapter("second", outer="pod")]
    catalog = shop(*[x.model_copy(update={"slot": "adapter"}) for x in both])
    catalog.places["pods"].slots["adapter"] = 2
    _, found = ways(catalog, "first@pods", "second@pods")
    # One goes on the loom and the other behind it; or each into the other, which feeds nothing.
    assert len({x.mates for x in found}) == len(found) == 3


def test_two_kits_for_two_amplifiers_can_be_swapped_but_no_wiring_comes_twice():
    catalog = shop(
        amplifier("skua").model_copy(
            update={"connectors": {"power": amplifier().connectors["power"]}, "channels": ()}
        ),
        amplifier("tern").model_copy(
            update={"connectors": {"power": amplifier().connectors["power"]}, "channels": ()}
        ),
        power_kit(takes_up_to=2),
    )
    _, found = ways(catalog, "skua@tray", "tern@tray", "power-kit@battery")
    assert len({x.mates for x in found}) == len(found) == 2


def test_a_battery_post_takes_as_many_lugs_as_it_accepts():
    kits = [power_kit("first-kit"), power_kit("second-kit"), power_kit("third-kit")]
    catalog = shop(*kits)
    assert len(ways(catalog, "first-kit@battery", "second-kit@battery")[1]) == 1
    assert not ways(catalog, "first-kit@battery", "second-kit@battery", "third-kit@battery")[1]


def test_a_plug_that_may_be_there_counts_only_when_asked_for():
    here = bike()
    rears = here.has.loom.connectors["rears"].model_copy(update={"presence": UNKNOWN})
    here.has.loom.connectors["rears"] = rears
    catalog = shop(speaker(), on=here)
    assert not ways(catalog, "petrel@rears")[1]
    assert len(ways(catalog, "petrel@rears", unknown_plugs=True)[1]) == 1
