"""Random parts: small, but of every kind that a chain of sound needs."""

from __future__ import annotations

from datetime import date
from random import Random

from rules.catalog.facts import DateSpan, Source, Unknown
from rules.catalog.part import AmplifierSupply, Cable, Channel, Kind, Part, PresetService, Speaker
from tests.oracle.plugs import sends, takes

SHEET = Source(kind="maker_sheet", ref="sheet 1", date=date(2029, 5, 1))
UNKNOWN = Unknown(unknown="measure it")


class PartBox:
    """Draws parts with one random stream; `doubt` is the chance that a fact is missing."""

    def __init__(self, rng: Random, doubt: float) -> None:
        self.rng = rng
        self.doubt = doubt

    def chance(self, share: float) -> bool:
        return self.rng.random() < share

    def maybe(self, value, weight: float = 1.0):
        return UNKNOWN if self.chance(self.doubt * weight) else value

    def make(self, name: str, kind: Kind, **more) -> Part:
        more.setdefault("mass_kg", self.maybe(self.rng.choice([0.25, 0.5, 1.0, 1.5, 2.25])))
        more.setdefault("colour", self.rng.choice([None, "black", "sand"]))
        return Part(id=name, name=name, kind=kind, source=SHEET, **more)

    # Head units and what lives in them ------------------------------------------------------------

    def radio(self, name: str, stock: bool, needs: str | None = None) -> Part:
        lanes = ["front_left", "front_right", "rear_left", "rear_right"]
        rear_table = self._watts([20.0, 25.0], ["2", "4"]) if self.chance(0.8) else self._watts([10.0], ["4"])
        channels = tuple(
            Channel(
                id=lane.replace("_", "-"),
                output=f"main.{lane}",
                watts=self._watts([20.0, 25.0], ["2", "4"]) if lane.startswith("front") else rear_table,
                min_ohm=self.maybe(self.rng.choice([2.0, 2.0, 4.0]), 0.5),
                needs=needs if lane.startswith("rear") else None,
            )
            for lane in lanes
        )
        plugs = {"main": sends(self.rng.choice(["head-full"] * 5 + ["head-front"]), "socket", needed=True)}
        if plugs["main"].map == "head-front":
            channels = channels[:2]
        if not stock and self.chance(0.3):
            plugs["bus"] = sends("bus", "socket")
        return self.make(
            name, "head_unit", slot="head_unit", connectors=plugs, channels=channels, stock_only=stock
        )

    def flash(self, name: str, host: str, tag: str) -> Part:
        return self.make(name, "flash", slot="flash", host=(host,), tags=(tag,), mass_kg=0.0)

    def control(self, name: str) -> Part:
        plugs = {"bus": sends("bus", "plug", needed=True)}
        return self.make(name, "control_interface", slot="control", connectors=plugs)

    # Amplifiers and their power -------------------------------------------------------------------

    def amplifier(self, name: str, pairs: int) -> Part:
        plugs = {"power": takes("feed", needed=True)}
        if self.chance(0.7):
            plugs["line"] = takes("line", needed=self.chance(0.8))
        channels: list[Channel] = []
        for number in range(1, pairs + 1):
            plugs[f"out-{number}"] = sends("amp", "socket")
            table = self._watts([20.0, 35.0, 50.0, 80.0], ["2", "4"] if self.chance(0.5) else ["2", "4", "8"])
            for side in ("left", "right"):
                lowest = self.maybe(self.rng.choice([2.0, 2.0, 2.0, 4.0]), 0.5)
                channels.append(self._channel(f"{side}-{number}", f"out-{number}.amp_{side}", table, lowest))
        if pairs == 2 and self.chance(0.35):
            plugs["out-bridged"] = sends("amp", "socket")
            channels += self._bridged()
        return self.make(
            name,
            "amplifier",
            slot="amplifier",
            at=("tray",),
            connectors=plugs,
            channels=tuple(channels),
            supply=self._supply(),
            tags=("loud",) if self.chance(0.4) else (),
        )

    def _channel(self, name, output, table, lowest, bridges=()):
        return Channel(id=name, output=output, watts=table, min_ohm=lowest, bridges=bridges)

    def _bridged(self):
        table = self._watts([70.0, 100.0, 140.0], ["4"])
        return [
            self._channel(
                f"both-{side}", f"out-bridged.amp_{side}", table, 4.0, (f"left-{one}", f"right-{one}")
            )
            for one, side in ((1, "left"), (2, "right"))
        ]

    def _watts(self, powers, ohms):
        if self.chance(self.doubt * 0.5):
            return UNKNOWN
        picked = sorted((self.rng.choice(powers) for _ in ohms), reverse=True)
        return dict(zip(ohms, picked, strict=True))

    def _supply(self) -> AmplifierSupply:
        return AmplifierSupply(
            fuse_a=self.maybe(self.rng.choice([10.0, 15.0, 20.0]), 0.5),
            full_a=self.maybe(self.rng.choice([8.0, 12.0, 17.0]), 0.5),
            idle_a=self.maybe(self.rng.choice([0.3, 0.7, 1.1]), 0.5),
            efficiency=self.maybe(self.rng.choice([0.55, 0.8]), 0.5),
        )

    def power_kit(self, name: str) -> Part:
        plugs = {
            "lug": takes("lug", needed=True),
            "feed-1": sends("feed", place="tray", needed=self.chance(0.3)),
        }
        if self.chance(0.3):
            plugs["feed-2"] = sends("feed", place="tray")
        cable = Cable(
            area_mm2=self.maybe(self.rng.choice([4.0, 6.0, 10.0]), 0.5),
            length_m=self.maybe(self.rng.choice([1.5, 2.5, 4.5]), 0.5),
            ampacity_a=self.maybe(self.rng.choice([15.0, 20.0, 30.0, 40.0, 40.0]), 0.5),
            fuses_a=tuple(
                sorted(self.rng.sample([10.0, 15.0, 20.0, 25.0, 30.0], self.rng.choice([3, 4, 5, 5])))
            ),
        )
        return self.make(name, "power_kit", slot="power", at=("battery",), connectors=plugs, cable=cable)

    # Leads ----------------------------------------------------------------------------------------

    def in_line(self, name: str, rear: str) -> Part:
        """Draw a harness between head unit and loom; the rear is passed on, amplified, or has a plug, or a choice."""
        plugs = {
            "radio-end": takes("head-full", "plug", needed=True),
            "loom-end": sends("head-full", "socket", needed=True),
            "amp-end": takes("amp", "plug", place="tray", needed=self.chance(0.4)),
            "line-end": sends("line", place="tray"),
        }
        links = {"loom-end.front_$side": "amp-end.amp_$side"}
        source = "radio-end.rear_$side"
        if rear in {"amplified", "plug amplified", "choice"}:
            plugs["rear-amp-end"] = takes("amp", "plug", place="tray")
            source = "rear-amp-end.amp_$side"
        if rear in {"plug", "plug amplified", "choice"}:
            plugs["rear-end"] = sends("take", place="tray")
            links["rear-end.rear_$side"] = source
        if rear == "choice":
            # The loom's own take-off goes on as before, beside the plug that an amplifier feeds.
            links["loom-end.rear_$side"] = "radio-end.rear_$side"
        elif "rear-end" not in plugs:
            links["loom-end.rear_$side"] = source
        return self.make(
            name,
            "harness",
            slot="harness",
            at=("dash",),
            connectors=plugs,
            links=links,
            rewires=self.chance(0.08),
        )

    def rear_lead(self, name: str, source: str) -> Part:
        """Draw a lead to the rear pods: from the take-off, an amplifier, or one channel for both."""
        head = (
            takes("take", "socket", needed=True)
            if source == "take"
            else takes("amp", "plug", needed=self.chance(0.6))
        )
        plugs = {
            "head-end": head,
            "pod-end": sends("pod", paired=True, place="rear_pods", needed=self.chance(0.2)),
        }
        lane = {"take": "rear_$side", "amp": "amp_$side", "mono": "amp_left"}[source]
        links = {"pod-end.drive": f"head-end.{lane}"}
        return self.make(
            name,
            "harness",
            slot="rear_lead",
            at=("tray",),
            connectors=plugs,
            links=links,
            rewires=self.chance(0.08),
        )

    def lid_lead(self, name: str) -> Part:
        plugs = {"head-end": takes("amp", "plug", needed=True), "lid-end": sends("pod", place="lid")}
        links = {"lid-end.drive": "head-end.amp_left"}
        return self.make(name, "harness", slot="rear_lead", at=("tray",), connectors=plugs, links=links)

    def y_lead(self, name: str) -> Part:
        plugs = {
            "in": takes("pod", paired=True, needed=True),
            "out-pod": sends("pod", paired=True, needed=self.chance(0.2)),
            "out-low": sends("pod", paired=True, place="lowers"),
        }
        links = {"out-pod.drive": "in.drive", "out-low.drive": "in.drive"}
        kind: Kind = "harness" if self.chance(0.5) else "adapter"
        return self.make(name, kind, slot="lead", at=("fairing_pods",), connectors=plugs, links=links)

    def adapter(self, name: str, into: str, out: str) -> Part:
        plugs = {
            "in": takes(into, paired=True, needed=True),
            "out": sends(out, paired=True, needed=self.chance(0.5)),
        }
        return self.make(name, "adapter", slot="adapter", connectors=plugs, links={"out.drive": "in.drive"})

    # Speakers and what carries them ---------------------------------------------------------------

    def speaker(
        self, name: str, at: tuple[str, ...], plug: str, stock: bool = False, rms: float | None = None
    ) -> Part:
        paired = at != ("lid",)
        speaker = Speaker(
            impedance_ohm=self.maybe(self.rng.choice([2.0, 4.0, 4.0, 4.0, 8.0]), 0.5),
            rms_w=self.maybe(rms or self.rng.choice([15.0, 30.0, 60.0, 90.0, 90.0]), 0.5),
        )
        spec = {
            "cutout_mm": self.rng.choice([130.0, 130.0, 165.0]),
            "depth_mm": self.rng.choice([48.0, 56.5, 63.0]),
        }
        spec = {key: self.maybe(value) for key, value in spec.items() if not self.chance(self.doubt * 0.4)}
        plugs = {"terminals": takes(plug, paired=paired, needed=True)}
        tags = ("deep",) if self.chance(0.3) else ()
        return self.make(
            name,
            "speaker",
            slot="speaker",
            at=at,
            connectors=plugs,
            speaker=speaker,
            spec=spec,
            stock_only=stock,
            tags=tags,
        )

    def ring(self, name: str) -> Part:
        spec = {"depth_mm": self.maybe(self.rng.choice([6.0, 10.5]))}
        return self.make(name, "ring", slot="ring", at=("fairing_pods",), spec=spec)

    def carrier(self, name: str, at: tuple[str, ...]) -> Part:
        return self.make(name, "carrier", slot="carrier", at=at)

    # What is never placed -------------------------------------------------------------------------

    def preset(self, name: str, amplifiers: tuple[str, ...], minutes: int) -> Part:
        service = PresetService(amplifiers=amplifiers, minutes=minutes, days=4)
        return self.make(name, "preset", preset=service, mass_kg=0.0)

    def bundle(self, name: str, members: tuple[str, ...]) -> Part:
        return self.make(name, "bundle", members=members, mass_kg=0.0)

    def sometimes_available(self, part: Part, first: date, last: date) -> Part:
        return part.model_copy(update={"available": DateSpan(first=first, last=last)})
