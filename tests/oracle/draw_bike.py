"""Random bikes: a dash, pods, a tray and a battery, with a loom that has a rear take-off or has not."""

from __future__ import annotations

from datetime import date
from random import Random
from typing import Any

from rules.catalog.bike import BikeFacts, BikePlace, Loom
from rules.catalog.catalog import Bike, Origin
from rules.catalog.facts import Source, YearSpan
from rules.catalog.place import Place
from tests.oracle.draw_parts import UNKNOWN
from tests.oracle.plugs import sends, takes

PAIRS = ("fairing_pods", "rear_pods", "lowers")


def draw_places(rng: Random) -> dict[str, Place]:
    """Draw the vocabulary of places; only the tray's room for amplifiers varies."""
    pod = {"speaker": 1, "ring": 1, "adapter": 1, "lead": 1}
    slots = {
        "battery": {"power": 1},
        "dash": {"head_unit": 1, "harness": 1, "flash": 1, "control": 1},
        "fairing_pods": pod,
        "lid": {"speaker": 1},
        "lowers": {"carrier": 1, "speaker": 1},
        "rear_pods": {"carrier": 1, "speaker": 1, "adapter": 1},
        "tray": {"amplifier": 2 if rng.random() < 0.12 else 1, "rear_lead": 1},
    }
    zoned = {*PAIRS, "lid"}
    return {
        name: Place(id=name, name=name, zone=name if name in zoned else None, pair=name in PAIRS, slots=given)
        for name, given in slots.items()
    }


class BikeBox:
    """Draws bikes; `doubt` is the chance that a fact is missing."""

    def __init__(self, rng: Random, doubt: float, rear: str, places: tuple[str, ...]) -> None:
        self.rng = rng
        self.doubt = doubt
        self.rear = rear
        self.places = places

    def maybe(self, value):
        return UNKNOWN if self.rng.random() < self.doubt else value

    def draw(self, name: str, stock: dict[str, str], shared: BikeFacts | None = None) -> Bike:
        """Draw a bike; with `shared`, one that differs from another in some facts only."""
        has = self._facts(stock) if shared is None else self._other_side(shared)
        leaves = dict(_leaves(has.model_dump(by_alias=True), ""))
        source = Source(kind="measured", ref="workshop book", date=date(2029, 4, 2))
        origin = Origin(source=source, years=YearSpan(2028, 2030), file="bikes/one.yaml", line=1, column=1)
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
            origins=dict.fromkeys(sorted(leaves), origin),
        )

    def _facts(self, stock: dict[str, str]) -> BikeFacts:
        facts = {
            "charging_headroom_a": self.maybe(self.rng.choice([4.0, 9.0, 14.0, 22.0, 22.0])),
            "idle_headroom_a": 2.0,
            "tail_limit_kg": self.maybe(self.rng.choice([2.0, 4.0, 7.0])),
            "hinge": self.rng.choice(["long", "short"]),
        }
        facts = {key: value for key, value in facts.items() if self.rng.random() >= self.doubt * 0.3}
        places = {name: self._place(name) for name in sorted(self.places)}
        return BikeFacts(
            facts=dict(sorted(facts.items())),
            places=places,
            loom=self._loom(),
            stock=dict(sorted(stock.items())),
        )

    def _place(self, name: str) -> BikePlace:
        geometry: dict[str, Any] = {}
        if name in {*PAIRS, "lid"}:
            geometry = {
                "depth_mm": self.rng.choice([50.0, 58.0, 65.0, 65.0]),
                "opening_mm": self.rng.choice([128.0, 130.0, 130.0, 165.0]),
            }
            geometry = {
                key: self.maybe(value)
                for key, value in geometry.items()
                if self.rng.random() >= self.doubt * 0.4
            }
        needs_carrier = (
            name in {"lowers", "rear_pods"} and self.rear != "factory" and self.rng.random() < 0.35
        )
        limit = self.rng.choice([None, None, 2.0, 3.0, 4.5]) if name != "dash" else None
        return BikePlace(
            geometry=geometry,
            carrier_needed=self.maybe(needs_carrier) if name in {"lowers", "rear_pods"} else False,
            max_mass_kg=None if limit is None else self.maybe(limit),
        )

    def _loom(self) -> Loom:
        plugs = {
            "head-plug": takes(
                "head-full" if self.rng.random() < 0.9 else "head-front", "plug", place="dash"
            ),
            "pod-plug": sends("pod", paired=True, place="fairing_pods"),
            "post": sends("lug", accepts=self.rng.choice([1, 2, 2]), place="battery"),
        }
        links = {"pod-plug.drive": "head-plug.front_$side"}
        if self.rear == "factory":
            plugs["rear-plug"] = sends("pod", paired=True, place="rear_pods")
            plugs["head-plug"] = takes("head-full", "plug", place="dash")
            links["rear-plug.drive"] = "head-plug.rear_$side"
        elif self.rear != "none" and plugs["head-plug"].map == "head-full":
            unseen = UNKNOWN if self.rear == "unseen" else None
            plugs["take-off"] = sends("take", place="tray", presence=unseen)
            links["take-off.rear_$side"] = "head-plug.rear_$side"
        return Loom(connectors=dict(sorted(plugs.items())), links=dict(sorted(links.items())))

    def _other_side(self, shared: BikeFacts) -> BikeFacts:
        facts = dict(shared.facts)
        if self.rng.random() < 0.5:
            facts["charging_headroom_a"] = self.maybe(self.rng.choice([3.0, 9.0, 22.0]))
        places = dict(shared.places)
        if self.rng.random() < 0.5:
            changed = {
                **places["fairing_pods"].geometry,
                "depth_mm": self.maybe(self.rng.choice([50.0, 65.0])),
            }
            places["fairing_pods"] = places["fairing_pods"].model_copy(update={"geometry": changed})
        return shared.model_copy(update={"facts": facts, "places": places})


def _leaves(tree, path: str):
    """Give the dotted path of every leaf."""
    for key, value in tree.items():
        here = f"{path}.{key}" if path else key
        if isinstance(value, dict) and value and "unknown" not in value:
            yield from _leaves(value, here)
        else:
            yield here, value
