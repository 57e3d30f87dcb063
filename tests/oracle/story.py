"""What a rider has in mind: systems of parts that go together, what else the shop has for them, and one way to get there."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from random import Random

from rules.build import Placement
from rules.catalog.part import Part
from tests.oracle.story_parts import Shelf

Offer = Callable[[], list[Part]]


@dataclass
class System:
    """Parts that come together: `base` is one way to have it, `wants` names what the rider asks for, at which place."""

    name: str
    base: list[Placement] = field(default_factory=list)
    wants: list[tuple[tuple[str, ...], str]] = field(default_factory=list)
    leaves: list[Placement] = field(default_factory=list)


@dataclass
class Story:
    """All systems of one question, with the parts on offer. `factors` makes single parts dear or cheap."""

    rng: Random
    shelf: Shelf
    take_off: bool
    parts: dict[str, Part] = field(default_factory=dict)
    systems: list[System] = field(default_factory=list)
    offers: list[Offer] = field(default_factory=list)
    factors: dict[str, float] = field(default_factory=dict)
    tags: set[str] = field(default_factory=set)

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def put(self, part: Part, factor: float = 1.0) -> Part:
        """Put a part on the shelf."""
        self.parts[part.id] = part
        self.factors[part.id] = factor
        self.tags |= set(part.tags)
        return part

    def tell(self, zones: tuple[str, ...], *, amplified: bool, head: bool) -> None:
        """Tell of fronts, and of the other zones, an amplifier and a head unit if they are wanted."""
        self._stock()
        self._fronts()
        if head:
            self._head_unit()
        if amplified:
            self._amplifier(zones)
        for zone in zones:
            {"rear_pods": self._rears, "lids": self._lids, "lowers": self._lowers}[zone]()

    def _stock(self) -> None:
        needs = self.rng.choice(["rear-open", "rear-open", None])
        self.put(self.shelf.radio("stock-radio", watts=20.0, needs=needs, stock=True))
        self.put(self.shelf.speaker("stock-front", ("fairing_pods",), rms=30.0, stock_only=True, mass_kg=0.5))
        self.put(self.shelf.flash("flash-a", "stock-radio", ("rear-open", "flat")))
        self.offers.append(lambda: [self.put(self.shelf.flash("flash-b", "stock-radio", ("flat",)), 0.6)])

    # Systems --------------------------------------------------------------------------------------

    def _fronts(self) -> None:
        shelf, rng, at = self.shelf, self.rng, ("fairing_pods",)
        base = shelf.speaker("front-a", at, ohm=rng.choice([4.0, 4.0, 2.0]), rms=80.0, depth=56.0)
        self.put(base, rng.choice([1.0, 1.3]))
        wanted = [base.id]
        others = [
            lambda: self.put(shelf.speaker("front-b", at, rms=100.0, depth=rng.choice([66.0, 70.0])), 1.2),
            lambda: self.put(shelf.speaker("front-c", at, ohm=2.0, rms=90.0, depth=55.0), 0.8),
            lambda: self.put(shelf.speaker("front-d", at, rms=75.0, plug="blade"), 0.85),
        ]
        if self.chance(0.5):
            wanted.append(rng.choice(others)().id)
        self.systems.append(
            System(
                "fronts",
                [Placement(base.id, "fairing_pods")],
                [(tuple(wanted), "fairing_pods")],
                [Placement("stock-front", "fairing_pods")],
            )
        )
        self.offers += [
            lambda: [self.put(shelf.speaker("front-cheap", at, rms=45.0, depth=52.0), 0.35)],
            lambda: [self.put(shelf.speaker("front-plain", at, rms=50.0, depth=54.0), 0.5)],
            lambda: [self.put(shelf.ring("ring-a", 6.0))],
            lambda: [self.put(shelf.ring("ring-b", 12.0), 1.5)],
            lambda: [self.put(shelf.adapter("blade-a", ("fairing_pods", "rear_pods")))],
        ]
        self.offers += [self._listed(make) for make in others]

    def _listed(self, make: Callable[[], Part]) -> Offer:
        return lambda: [make()]

    def _head_unit(self) -> None:
        shelf, rng = self.shelf, self.rng
        remote = self.chance(0.5)
        radio = shelf.radio("radio-a", watts=22.0)
        if remote:
            radio = radio.model_copy(update={"tags": ("remote",)})
            self.put(shelf.control("control-a"))
        self.put(radio)
        wanted = [radio.id]
        if self.chance(0.4):
            wanted.append(self.put(shelf.radio("radio-b", watts=25.0), rng.choice([0.9, 1.15])).id)
        base = [Placement("radio-a", "dash")] + ([Placement("control-a", "dash")] if remote else [])
        self.systems.append(
            System("head", base, [(tuple(wanted), "dash")], [Placement("stock-radio", "dash")])
        )
        self.offers += [
            lambda: [self.put(shelf.radio("radio-c", watts=18.0), 0.7)],
            lambda: [self.put(shelf.control("control-b"), 1.2)],
        ]

    def _amplifier(self, zones: tuple[str, ...]) -> None:
        shelf, rng = self.shelf, self.rng
        fed = [zone for zone in zones if zone != "lowers" or self.chance(0.5)]
        pairs = min(4, 1 + len(fed))
        tags = ("dsp",) if self.chance(0.75) else ()
        self.put(shelf.amplifier("amp-a", pairs, tags=tags))
        rear = (
            rng.choice(["fed", "plug", "only", "only"])
            if "rear_pods" in zones
            else rng.choice(["passed", "fed"])
        )
        full = shelf.harness(
            "harness-a",
            rear=rear,
            lid="own" if "lids" in zones else "",
            low="own" if "lowers" in fed else "",
            lines=rng.choice([1, 2]),
        )
        self.put(full, 1.1)
        self.put(shelf.kit("kit-a", 40.0, feeds=2))
        base = [Placement("amp-a", "tray"), Placement("harness-a", "dash"), Placement("kit-a", "battery")]
        wanted = ["amp-a"]
        if self.chance(0.5):
            name = rng.choice(["amp-b", "amp-next"])
            tag = ("dsp",) if self.chance(0.5) else ()
            wanted.append(self.put(shelf.amplifier(name, min(4, pairs + rng.choice([0, 1])), tags=tag)).id)
        self.systems.append(System("amplifier", base, [(tuple(wanted), "tray")]))
        self.offers += [
            lambda: [self.put(shelf.amplifier("amp-small", 1, lowest=4.0), 0.8)],
            lambda: [self.put(shelf.amplifier("amp-two", 2), 0.9)],
            lambda: [self.put(shelf.amplifier("amp-c", 3, tags=("dsp",)), 0.9)],
            lambda: [self.put(shelf.amplifier("amp-d", 4, lowest=4.0), 1.1)],
            lambda: [self.put(shelf.harness("harness-basic"), 0.8)],
            lambda: [self.put(shelf.harness("harness-rear", rear="fed"), 0.9)],
            lambda: [self.put(shelf.harness("harness-plug", rear="plug"), 0.85)],
            lambda: [self.put(shelf.harness("harness-lid", rear="plug", lid="shared"), 0.85)],
            lambda: [self.put(shelf.harness("harness-all", rear="only", lid="own", low="shared", lines=2))],
            lambda: [self.put(shelf.harness("harness-cut", rear="fed", lid="shared", rewires=True), 0.6)],
            lambda: [self.put(shelf.kit("kit-small", 25.0), 0.7)],
            lambda: [self.put(shelf.kit("kit-big", 60.0, feeds=2), 1.5)],
        ]

    def _rears(self) -> None:
        shelf, rng, at = self.shelf, self.rng, ("rear_pods",)
        hungry = ("hungry",) if self.chance(0.3) else ()
        self.put(shelf.speaker("rear-a", at, ohm=rng.choice([4.0, 4.0, 2.0]), rms=70.0, tags=hungry))
        self.put(shelf.carrier("rear-shell-a", "rear_pods"))
        self.put(shelf.lead("rear-lead-take", "take", "rear_pods"))
        base = [Placement(name, "rear_pods") for name in ("rear-a", "rear-shell-a")]
        base.append(Placement("rear-lead-take", "tray"))
        wanted = ["rear-a"]
        if self.chance(0.5):
            wanted.append(self.put(shelf.speaker("rear-b", at, rms=55.0), 0.9).id)
        self.systems.append(System("rears", base, [(tuple(wanted), "rear_pods")]))
        both = ("fairing_pods", "rear_pods")
        self.offers += [
            lambda: [self.put(shelf.lead("rear-lead-amp", "amp", "rear_pods"), 1.2)],
            lambda: [self.put(shelf.speaker("pod-both", both, rms=65.0, depth=57.0), 0.95)],
            lambda: [self.put(shelf.speaker("rear-c", at, ohm=2.0, rms=80.0), 0.7)],
            lambda: [self.put(shelf.speaker("rear-cheap", at, rms=40.0), 0.4)],
            lambda: [self.put(shelf.carrier("rear-shell-b", "rear_pods", tags=("low-back",)), 0.8)],
        ]

    def _lids(self) -> None:
        shelf, at = self.shelf, ("lids",)
        self.put(shelf.speaker("lid-a", at, rms=80.0))
        self.put(shelf.carrier("lid-shell-a", "lids"))
        self.put(shelf.lead("lid-lead-lid", "lid", "lids"))
        base = [Placement(name, "lids") for name in ("lid-a", "lid-shell-a")]
        base.append(Placement("lid-lead-lid", "tray"))
        wanted = ["lid-a"]
        if self.chance(0.5):
            wanted.append(self.put(shelf.speaker("lid-b", at, rms=90.0), 1.05).id)
        self.systems.append(System("lids", base, [(tuple(wanted), "lids")]))
        self.offers += [
            lambda: [self.put(shelf.lead("lid-lead-amp", "amp", "lids"), 1.1)],
            lambda: [self.put(shelf.splitter("splitter-a"))],
            lambda: [self.put(shelf.carrier("lid-shell-sand", "lids", colour="sand"), 1.2)],
            lambda: [self.put(shelf.carrier("lid-shell-tall", "lids", tags=("tall",)), 0.75)],
            lambda: [self.put(shelf.speaker("lid-c", at, ohm=2.0, rms=60.0), 0.8)],
            lambda: [self.put(shelf.speaker("lid-cheap", at, rms=50.0), 0.45)],
        ]

    def _lowers(self) -> None:
        shelf, at = self.shelf, ("lowers",)
        self.put(shelf.speaker("low-a", at, ohm=self.rng.choice([4.0, 8.0]), rms=60.0))
        self.put(shelf.carrier("low-shell-a", "lowers"))
        base = [Placement(name, "lowers") for name in ("low-a", "low-shell-a")]
        harness = self.parts.get("harness-a")
        if harness is not None and "low-end" in harness.connectors:
            self.put(shelf.lead("low-lead-low", "low", "lowers", place="dash"))
            base.append(Placement("low-lead-low", "tray"))
            self.offers.append(lambda: [self.put(shelf.y_lead("low-y"))])
        else:
            self.put(shelf.y_lead("low-y"))
            base.append(Placement("low-y", "fairing_pods"))
            self.offers.append(lambda: [self.put(shelf.lead("low-lead-low", "low", "lowers", place="dash"))])
        self.systems.append(System("lowers", base, [(("low-a",), "lowers")]))
        self.offers += [
            lambda: [self.put(shelf.lead("low-lead-amp", "amp", "lowers"), 1.2)],
            lambda: [self.put(shelf.speaker("low-b", at, ohm=8.0, rms=40.0), 0.7)],
            lambda: [self.put(shelf.speaker("low-c", at, rms=80.0), 1.1)],
            lambda: [self.put(shelf.carrier("low-shell-b", "lowers"), 0.85)],
        ]
