"""A small shop for cases that a person can work out: a bike with a stock radio and stock fronts, and a few goods."""

from dataclasses import replace
from datetime import date
from random import Random

from rules.build import AsFound, LedgerEntry, Placement
from rules.catalog.bike import BikeFacts, BikePlace, Loom
from rules.catalog.catalog import Catalog
from rules.catalog.condition import Selector
from rules.catalog.facts import DateSpan
from rules.catalog.part import AmplifierSupply, Cable, Channel, Part, PresetService, Speaker
from rules.catalog.price import PriceList
from rules.catalog.rule import ChannelLimit, Operation, PresetChain, Rule
from rules.catalog.shop import Shop
from rules.question import FitQuestion, PathQuestion, Stage, Want
from tests.oracle import compare, verdicts
from tests.oracle.draw_bike import draw_places
from tests.oracle.draw_parts import SHEET
from tests.oracle.generate import PathInstance, VerdictInstance, verdict_instance
from tests.oracle.plugs import CONNECTOR_TYPES, CONTACT_MAPS, sends, takes

DAY = date(2030, 3, 1)
LATER = date(2031, 3, 1)
ONE_VISIT = (Stage(on=DAY),)


# A small shop ----------------------------------------------------------------------------------------


def part(name, kind, slot, price=1000, **more):
    return Part(id=name, name=name, kind=kind, slot=slot, source=SHEET, **more), price


def speaker(name, ohm=4.0, rms=30.0, depth=50.0, plug="pod", price=1000, **more):
    plugs = {"terminals": takes(plug, paired=True, needed=True)}
    sound = Speaker(impedance_ohm=ohm, rms_w=rms)
    more = {"spec": {"depth_mm": depth}, "at": ("fairing_pods",), **more}
    return part(name, "speaker", "speaker", price, connectors=plugs, speaker=sound, **more)


def radio(name="radio", watts=20.0, price=9000, **more):
    lanes = ("front_left", "front_right", "rear_left", "rear_right")
    channels = tuple(
        Channel(id=lane.replace("_", "-"), output=f"main.{lane}", watts={"4": watts}, min_ohm=4.0)
        for lane in lanes
    )
    plugs = {"main": sends("head-full", "socket", needed=True)}
    return part(name, "head_unit", "head_unit", price, connectors=plugs, channels=channels, **more)


def amplifier(name="amp", watts=50.0, fuse=20.0, price=40_000, pairs=None):
    """Give an amplifier: for each pair of channels (two, unless given) its power and lowest impedance."""
    pairs = pairs or ((watts, 2.0), (watts, 2.0))
    plugs = {"power": takes("feed", needed=True), "line": takes("line", needed=True)}
    plugs |= {f"out-{one}": sends("amp", "socket") for one in range(1, len(pairs) + 1)}
    channels = tuple(
        Channel(
            id=f"{side}-{one}",
            output=f"out-{one}.amp_{side}",
            watts={"2": power, "4": power},
            min_ohm=lowest,
        )
        for one, (power, lowest) in enumerate(pairs, start=1)
        for side in ("left", "right")
    )
    supply = AmplifierSupply(fuse_a=fuse, full_a=15.0, idle_a=1.0, efficiency=0.8)
    return part(
        name,
        "amplifier",
        "amplifier",
        price,
        at=("tray",),
        connectors=plugs,
        channels=channels,
        supply=supply,
    )


def harness(name="harness", price=8000):
    plugs = {
        "radio-end": takes("head-full", "plug", needed=True),
        "loom-end": sends("head-full", "socket", needed=True),
        "amp-end": takes("amp", "plug", place="tray"),
        "line-end": sends("line", place="tray"),
    }
    links = {"loom-end.front_$side": "amp-end.amp_$side", "loom-end.rear_$side": "radio-end.rear_$side"}
    return part(name, "harness", "harness", price, at=("dash",), connectors=plugs, links=links)


def harness_with_a_rear_plug(price=8000):
    """Give a harness that passes the rear on to the loom, and has a plug beside it for a rear that is amplified."""
    base, _ = harness()
    plugs = {
        **base.connectors,
        "rear-amp-end": takes("amp", "plug", place="tray"),
        "rear-end": sends("take", place="tray"),
    }
    links = {**base.links, "rear-end.rear_$side": "rear-amp-end.amp_$side"}
    return base.model_copy(update={"connectors": plugs, "links": links}), price


def rear_lead(price=2000):
    plugs = {
        "head-end": takes("take", needed=True),
        "pod-end": sends("pod", paired=True, place="rear_pods"),
    }
    links = {"pod-end.drive": "head-end.rear_$side"}
    return part("lead", "harness", "rear_lead", price, at=("tray",), connectors=plugs, links=links)


def kit(name="kit", fuses=(15.0, 20.0), price=6000):
    plugs = {"lug": takes("lug", needed=True), "feed": sends("feed", place="tray")}
    cable = Cable(area_mm2=10.0, length_m=2.0, ampacity_a=30.0, fuses_a=fuses)
    return part(name, "power_kit", "power", price, at=("battery",), connectors=plugs, cable=cable)


def adapter(price=500):
    plugs = {"in": takes("pod", paired=True, needed=True), "out": sends("blade", paired=True)}
    links = {"out.drive": "in.drive"}
    return part("adapter", "adapter", "adapter", price, at=("fairing_pods",), connectors=plugs, links=links)


def preset(price=5000, minutes=60):
    service = PresetService(amplifiers=("amp",), minutes=minutes, days=3)
    return part("preset", "preset", None, price, preset=service)


def shop(*goods, rules: tuple[Rule, ...] = (), resale=None, depth=55.0, headroom=40.0, later=None):
    """Give a catalog with a stock radio and stock front speakers, and the goods at their prices."""
    goods = (radio("stock-radio", stock_only=True), speaker("stock-front", stock_only=True), *goods)
    parts = {one.id: one for one, _ in goods}
    prices = {one.id: price for one, price in goods if not one.stock_only}
    first = PriceList(
        price_list="first",
        first=date(2030, 1, 1),
        last=date(2030, 12, 31),
        labour_per_hour=6000,
        freight=700,
        prices=prices or {"nothing": 1},
        resale=resale or {},
    )
    second = first.model_copy(
        update={
            "price_list": "second",
            "first": date(2031, 1, 1),
            "last": date(2031, 12, 31),
            "prices": {**first.prices, **(later or {})},
        }
    )
    return Catalog(
        shop=Shop(name="Harbour workshop", currency="EUR", decimals=2, tax_percent=20.0),
        places=draw_places(Random(2)),
        connector_types=CONNECTOR_TYPES,
        contact_maps=CONTACT_MAPS,
        bikes={"plover": _bike(depth, headroom)},
        ambiguous={},
        parts=parts,
        lines=dict.fromkeys(parts, "tern"),
        makers=dict.fromkeys(parts, "marram"),
        rules={rule.id: rule for rule in rules},
        topics={rule.id: "all" for rule in rules},
        price_lists=(first, second),
        cases=(),
        positions={},
    )


def _bike(depth, headroom):
    drawn = verdict_instance(1).catalog
    bike = drawn.bikes[min(drawn.bikes)]
    plugs = {
        "head-plug": takes("head-full", "plug", place="dash"),
        "pod-plug": sends("pod", paired=True, place="fairing_pods"),
        "post": sends("lug", accepts=2, place="battery"),
        "take-off": sends("take", place="tray"),
    }
    links = {
        "pod-plug.drive": "head-plug.front_$side",
        "take-off.rear_$side": "head-plug.rear_$side",
    }
    has = BikeFacts(
        facts={"charging_headroom_a": headroom},
        places={
            "battery": BikePlace(),
            "dash": BikePlace(),
            "tray": BikePlace(),
            "fairing_pods": BikePlace(geometry={"depth_mm": depth}),
            "rear_pods": BikePlace(),
        },
        loom=Loom(connectors=plugs, links=links),
        stock={"dash.head_unit": "stock-radio", "fairing_pods.speaker": "stock-front"},
    )
    return replace(bike, id="plover", has=has)


def fit(catalog, name, **more):
    """Ask both verdict oracles and the engine, and give their common answer."""
    question = FitQuestion(bike="plover", part=name, on=DAY, **more)
    result = compare.compare_verdict(0, VerdictInstance(catalog, question), engine=True)
    assert result.agree, result.said
    return verdicts.judge(catalog, question)


def path(catalog, wants, stages=ONE_VISIT, **more):
    """Ask both path oracles and the engine, and give their common answer: total, visits, waste."""
    wants = tuple(Want(parts=(want,)) if isinstance(want, str) else want for want in wants)
    question = PathQuestion(bike="plover", stages=tuple(stages), wants=wants, **more)
    result = compare.compare_path(0, PathInstance(catalog, question), engine=True)
    assert result.agree, result.said
    return result.said["enumerated"]


def rule(make, kind, name="rule", **more):
    return make(id=name, says="It is so.", kind=kind, **more)


CHAIN = rule(PresetChain, "preset_chain", subject=Selector(kind="amplifier"))
TWO_VISITS = (Stage(on=DAY), Stage(on=LATER))


def fitted(*placements):
    return tuple(LedgerEntry(placement=Placement(*one)) for one in placements)


AMPLIFIED = (("amp", "tray"), ("harness", "dash"), ("kit", "battery"))
SPEAKER_POWER = rule(ChannelLimit, "channel_limit", name="power", limit="speaker_power")
LOWEST = rule(ChannelLimit, "channel_limit", name="low", limit="lowest_impedance")


def moving_plugs(kind):
    """Give tear-down of 10 minutes, 1000, and re-plugging of 12 minutes, 1200, that needs it."""
    strip = rule(Operation, "operation", name="strip", minutes=10)
    moves = rule(
        Operation,
        "operation",
        name="moves",
        subject=Selector(kind=kind),
        action="replug",
        minutes=12,
        after=("strip",),
    )
    return strip, moves


def rear_on_the_take_off():
    """Give a bike whose rear lead hangs on the loom, beside a free plug of the harness; and speakers for it.

    The head unit is too strong for the delicate ones: they want the amplifier, by way of that plug.
    """
    rear = {"at": ("rear_pods",)}
    goods = (
        amplifier(watts=12.0),
        harness_with_a_rear_plug(),
        kit(),
        rear_lead(),
        speaker("rear", **rear),
        speaker("delicate", rms=15.0, **rear),
        speaker("sturdy", available=DateSpan(first=LATER, last=LATER), **rear),
    )
    found = AsFound(
        fitted=fitted(*AMPLIFIED, ("lead", "tray"), ("rear", "rear_pods")),
        wiring=frozenset(
            [("loom:take-off", "lead@tray:head-end"), ("harness@dash:amp-end", "amp@tray:out-1")]
        ),
    )
    return goods, found
