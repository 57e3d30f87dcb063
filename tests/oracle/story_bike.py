"""A touring bike with all the places that sound goes to, and the rules of the trade that a path runs into."""

from __future__ import annotations

from random import Random
from typing import Any

from rules.catalog.bike import BikeFacts, BikePlace, Loom
from rules.catalog.catalog import Bike
from rules.catalog.condition import Fitted, Selector
from rules.catalog.place import Place
from rules.catalog.rule import (
    ChannelLimit,
    Clearance,
    Excludes,
    FlashNeeded,
    MassLimit,
    Operation,
    PresetChain,
    Requires,
    Rule,
    SupplyLimit,
)
from tests.oracle.draw_rules import SAYS
from tests.oracle.plugs import sends, takes

PAIRS = ("fairing_pods", "lids", "lowers", "rear_pods")
CARRIED = ("lids", "lowers", "rear_pods")


def story_places(rng: Random) -> dict[str, Place]:
    """Draw the vocabulary; some trays take two amplifiers."""
    slots = {
        "battery": {"power": 1},
        "dash": {"head_unit": 1, "harness": 1, "flash": 1, "control": 1},
        "fairing_pods": {"speaker": 1, "ring": 1, "adapter": 1, "lead": 1},
        "lids": {"carrier": 1, "speaker": 1, "adapter": 1},
        "lowers": {"carrier": 1, "speaker": 1},
        "rear_pods": {"carrier": 1, "speaker": 1, "adapter": 1},
        "tray": {
            "amplifier": rng.choice([1, 1, 2]),
            "rear_lead": 1,
            "lid_lead": 1,
            "low_lead": 1,
            "splitter": 1,
        },
    }
    return {
        name: Place(id=name, name=name, zone=name if name in PAIRS else None, pair=name in PAIRS, slots=given)
        for name, given in slots.items()
    }


def story_bike(rng: Random, name: str, stock: dict[str, str]) -> Bike:
    """Draw a bike: geometry, charging, mass limits, and whether the loom has a plug for rears."""
    facts = {"charging_headroom_a": rng.choice([14.0, 22.0, 30.0]), "idle_headroom_a": 2.0}
    has = BikeFacts(
        facts=dict(sorted(facts.items())),
        places={place: _place(rng, place) for place in (*PAIRS, "battery", "dash", "tray")},
        loom=_loom(rng),
        stock=dict(sorted(stock.items())),
    )
    return Bike(
        id=name,
        family="plover",
        family_name="Plover",
        maker="marram",
        year=2029,
        trim="base",
        trim_name="Base",
        mount="fork",
        cooling="air",
        split=None,
        has=has,
        origins={},
    )


def _place(rng: Random, name: str) -> BikePlace:
    geometry: dict[str, Any] = {}
    if name in PAIRS:
        geometry = {"depth_mm": rng.choice([58.0, 62.0, 66.0])}
    limits = {"tray": [None, 3.0, 4.5], "lids": [None, None, 3.0]}
    limit = rng.choice(limits.get(name, [None]))
    return BikePlace(geometry=geometry, carrier_needed=name in CARRIED, max_mass_kg=limit)


def _loom(rng: Random) -> Loom:
    plugs = {
        "head-plug": takes("head-full", "plug", place="dash"),
        "pod-plug": sends("pod", paired=True, place="fairing_pods"),
        "post": sends("lug", accepts=2, place="battery"),
    }
    links = {"pod-plug.drive": "head-plug.front_$side"}
    if rng.random() < 0.8:
        plugs["take-off"] = sends("take", place="tray")
        links["take-off.rear_$side"] = "head-plug.rear_$side"
    return Loom(connectors=dict(sorted(plugs.items())), links=dict(sorted(links.items())))


class StoryRules:
    """Draws the rules: limits as every shop knows them, companions, and labour with shared tear-down."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng
        self.rules: dict[str, Rule] = {}

    def add(self, make, name: str, **more) -> None:
        self.rules[name] = make(id=name, says=SAYS, **more)

    def draw(self, tags: set[str], *, flash: bool) -> dict[str, Rule]:
        self._limits()
        self._companions(tags, flash=flash)
        self._labour()
        return dict(sorted(self.rules.items()))

    def _limits(self) -> None:
        for limit in ("lowest_impedance", "speaker_power", "bridge"):
            self.add(ChannelLimit, limit.replace("_", "-"), kind="channel_limit", limit=limit)
        for limit in ("fuse", "ampacity", "charging"):
            self.add(SupplyLimit, f"supply-{limit}", kind="supply_limit", limit=limit)
        self.add(
            SupplyLimit,
            "supply-voltage-drop",
            kind="supply_limit",
            limit="voltage_drop",
            most=self.rng.choice([0.35, 0.5]),
        )
        self.add(MassLimit, "mass", kind="mass_limit", at=("tray", "lids"))
        self.add(PresetChain, "preset-chain", kind="preset_chain", subject=Selector(tag="dsp"))
        self.add(
            Clearance,
            "too-deep",
            kind="clearance",
            subject=Selector(kind="speaker"),
            spec="depth_mm",
            relation="at_most",
            geometry="depth_mm",
            relieved_by_slot="ring",
            relieved_by_spec="depth_mm",
        )

    def _companions(self, tags: set[str], *, flash: bool) -> None:
        if flash:
            self.add(
                FlashNeeded,
                "flat-output",
                kind="flash_needed",
                subject=Selector(part=("stock-radio",)),
                needs=Selector(tag="flat"),
                when=Fitted(fitted=Selector(kind="amplifier")),
            )
        if "hungry" in tags:
            self.add(
                Requires,
                "hungry",
                kind="requires",
                subject=Selector(tag="hungry"),
                needs=Selector(kind="amplifier"),
            )
        if "remote" in tags:
            self.add(
                Requires,
                "remote",
                kind="requires",
                subject=Selector(tag="remote"),
                needs=Selector(kind="control_interface"),
            )
        if {"tall", "low-back"} <= tags:
            self.add(
                Excludes,
                "tall-lid",
                kind="excludes",
                subject=Selector(tag="tall"),
                together_with=Selector(tag="low-back"),
            )

    def _labour(self) -> None:
        rng = self.rng
        home = rng.random() < 0.5
        self._work("fairing-off", rng.choice([20, 35, 50]))
        self._work("seat-off", rng.choice([8, 15]))
        self._work("dash-out", rng.choice([15, 25]), after=("fairing-off",))
        self._work("lids-off", rng.choice([10, 20]))
        self._on("head_unit", "add", [25, 40], ("dash-out",))
        self._on("head_unit", "remove", [10], ("dash-out",))
        self._on("harness", "add", [20, 35], ("fairing-off", "seat-off"), at=("dash",), home=home)
        self._on("harness", "add", [10, 15], ("seat-off",), at=("tray",))
        self._on("harness", "replug", [30, 60], ("seat-off",), at=("tray",))
        self._on("speaker", "replug", [10, 25], ("fairing-off",), at=("fairing_pods",))
        self._on("amplifier", "add", [20, 30], ("seat-off",), home=home)
        self._on("amplifier", "remove", [10], ("seat-off",))
        self._on("amplifier", "preset", [5, 10], ())
        self._on("power_kit", "add", [15, 25], ("seat-off",), home=home)
        self._on("flash", "add", [15, 30], (), home=rng.random() < 0.5)
        self._on("speaker", "add", [15, 20], ("fairing-off",), at=("fairing_pods",))
        self._on("speaker", "remove", [5], ("fairing-off",), at=("fairing_pods",))
        self._on("speaker", "add", [10, 20], ("lids-off",), at=("lids",))
        self._on("speaker", "add", [10, 20], ("seat-off",), at=("rear_pods",))
        self._on("carrier", "add", [20, 30], ("lids-off",), at=("lids",))
        self._on("carrier", "add", [20, 30], ("seat-off",), at=("rear_pods",))
        self._on("carrier", "add", [25, 35], ("fairing-off",), at=("lowers",))

    def _on(self, kind, action: str, minutes: list[int], after, *, at=(), home: bool = True) -> None:
        name = "-".join([action, kind.replace("_", "-"), *at]).replace("_", "-")
        self._work(
            name,
            self.rng.choice(minutes),
            after=after,
            home=home,
            subject=Selector(kind=kind, at=at),
            action=action,
        )

    def _work(self, name: str, minutes: int, **more) -> None:
        self.add(Operation, name, kind="operation", minutes=minutes, **more)
