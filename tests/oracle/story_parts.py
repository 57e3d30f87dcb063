"""Parts as a shop has them on its shelf: amplifiers, harness variants with plugs for later, speakers, carriers, leads."""

from __future__ import annotations

from random import Random

from rules.catalog.connector import Connector
from rules.catalog.part import AmplifierSupply, Cable, Channel, Kind, Part, PresetService, Speaker
from tests.oracle.draw_parts import SHEET
from tests.oracle.plugs import sends, takes

LANES = ("front_left", "front_right", "rear_left", "rear_right")
SIDES = ("left", "right")


class Shelf:
    """Makes parts; the figures that a story does not fix are drawn."""

    def __init__(self, rng: Random) -> None:
        self.rng = rng

    def make(self, name: str, kind: Kind, **more) -> Part:
        more.setdefault("mass_kg", self.rng.choice([0.25, 0.5, 1.0]))
        return Part(id=name, name=name, kind=kind, source=SHEET, **more)

    # Head units and what lives in them ------------------------------------------------------------

    def radio(self, name: str, *, watts: float, needs: str | None = None, stock: bool = False) -> Part:
        """Make a head unit; `needs` names the tag of the flash without which its rear channels are silent."""
        channels = tuple(
            Channel(
                id=lane.replace("_", "-"),
                output=f"main.{lane}",
                watts={"2": watts + 5, "4": watts},
                min_ohm=self.rng.choice([2.0, 4.0]),
                needs=needs if lane.startswith("rear") else None,
            )
            for lane in LANES
        )
        plugs = {"main": sends("head-full", "socket", needed=True)}
        if not stock:
            plugs["bus"] = sends("bus", "socket")
        return self.make(
            name, "head_unit", slot="head_unit", connectors=plugs, channels=channels, stock_only=stock
        )

    def flash(self, name: str, host: str, tags: tuple[str, ...]) -> Part:
        return self.make(name, "flash", slot="flash", host=(host,), tags=tags, mass_kg=0.0)

    def control(self, name: str) -> Part:
        plugs = {"bus": sends("bus", "plug", needed=True)}
        return self.make(name, "control_interface", slot="control", connectors=plugs, at=("dash",))

    # Amplifiers and their power -------------------------------------------------------------------

    def amplifier(self, name: str, pairs: int, *, tags: tuple[str, ...] = (), lowest: float = 2.0) -> Part:
        plugs = {"power": takes("feed", needed=True), "line": takes("line", needed=True)}
        channels: list[Channel] = []
        for number in range(1, pairs + 1):
            plugs[f"out-{number}"] = sends("amp", "socket")
            power = self.rng.choice([50.0, 75.0, 100.0])
            channels += [
                self._channel(number, side, {"2": 1.5 * power, "4": power}, lowest) for side in SIDES
            ]
        if pairs > 1 and self.rng.random() < 0.3:
            plugs["out-bridged"] = sends("amp", "socket")
            channels += [self._bridged(side, half) for side, half in zip(SIDES, (1, 2), strict=True)]
        fuse = 10.0 + 5.0 * pairs
        return self.make(
            name,
            "amplifier",
            slot="amplifier",
            at=("tray",),
            connectors=plugs,
            channels=tuple(channels),
            supply=AmplifierSupply(fuse_a=fuse, full_a=fuse - 3.0, idle_a=0.5, efficiency=0.8),
            tags=tags,
            mass_kg=self.rng.choice([1.0, 1.5, 2.25]),
        )

    def _channel(self, number: int, side: str, watts, lowest: float) -> Channel:
        return Channel(id=f"{side}-{number}", output=f"out-{number}.amp_{side}", watts=watts, min_ohm=lowest)

    def _bridged(self, side: str, pair: int) -> Channel:
        return Channel(
            id=f"both-{side}",
            output=f"out-bridged.amp_{side}",
            watts={"4": 140.0},
            min_ohm=4.0,
            bridges=(f"left-{pair}", f"right-{pair}"),
        )

    def kit(self, name: str, ampacity: float, *, feeds: int = 1) -> Part:
        plugs = {"lug": takes("lug", needed=True)}
        plugs |= {f"feed-{number}": sends("feed", place="tray") for number in range(1, feeds + 1)}
        bag = (15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0)
        cable = Cable(
            area_mm2=ampacity / 5.0,
            length_m=self.rng.choice([1.5, 2.0, 2.5]),
            ampacity_a=ampacity,
            fuses_a=tuple(one for one in bag if one <= ampacity),
        )
        return self.make(name, "power_kit", slot="power", at=("battery",), connectors=plugs, cable=cable)

    # Harnesses and leads --------------------------------------------------------------------------

    def harness(
        self,
        name: str,
        *,
        rear: str = "passed",
        lid: str = "",
        low: str = "",
        lines: int = 1,
        rewires: bool = False,
    ) -> Part:
        """Make a harness between head unit and loom that lets an amplifier feed the fronts.

        `rear` is `passed` on from the head unit, `fed` by the amplifier through the loom, has a `plug` beside the loom's, or
        `only` a plug. `lid` and `low` are left out, have `own` ends to the amplifier, or hang beside the rears (lid) and
        fronts (low): `shared`.
        """
        plugs = {
            "radio-end": takes("head-full", "plug", needed=True),
            "loom-end": sends("head-full", "socket", needed=True),
            "amp-end": takes("amp", "plug", place="tray"),
        }
        plugs |= {f"line-end-{number}": sends("line", place="tray") for number in range(1, lines + 1)}
        links = {
            "loom-end.front_$side": "amp-end.amp_$side",
            "loom-end.rear_$side": "radio-end.rear_$side",
        }
        if rear != "passed":
            plugs["rear-amp-end"] = takes("amp", "plug", place="tray")
        if rear == "fed":
            links["loom-end.rear_$side"] = "rear-amp-end.amp_$side"
        if rear == "only":
            del links["loom-end.rear_$side"]
        if rear in {"plug", "only"}:
            plugs["rear-end"] = sends("take", place="tray")
            links["rear-end.rear_$side"] = "rear-amp-end.amp_$side"
        self._later(plugs, links, "lid", lid, "rear-amp-end", "tray")
        self._later(plugs, links, "low", low, "amp-end", "dash")
        return self.make(
            name, "harness", slot="harness", at=("dash",), connectors=plugs, links=links, rewires=rewires
        )

    def _later(
        self,
        plugs: dict[str, Connector],
        links: dict[str, str],
        zone: str,
        how: str,
        beside: str,
        place: str,
    ) -> None:
        """Add a plug that a later pair of speakers will hang on."""
        if not how:
            return
        source = beside if how == "shared" and beside in plugs else f"{zone}-amp-end"
        plugs[f"{zone}-end"] = sends(zone, place=place)
        plugs.setdefault(source, takes("amp", "plug", place="tray"))
        links[f"{zone}-end.{zone}_$side"] = f"{source}.amp_$side"

    def lead(self, name: str, source: str, zone: str, *, place: str = "tray") -> Part:
        """Make a lead to a zone's speakers, from a plug of the loom or harness (`take`, `lid`, `low`) or from an amplifier."""
        lane = {"take": "rear", "amp": "amp", "lid": "lid", "low": "low"}[source]
        head = takes(source, "plug" if source == "amp" else "socket", needed=True, place=place)
        plugs = {"head-end": head, "pod-end": sends("pod", paired=True, place=zone)}
        links = {"pod-end.drive": f"head-end.{lane}_$side"}
        slot = {"rear_pods": "rear_lead", "lids": "lid_lead", "lowers": "low_lead"}[zone]
        return self.make(name, "harness", slot=slot, at=("tray",), connectors=plugs, links=links)

    def splitter(self, name: str) -> Part:
        """Make an adapter that lets the lids hang on the rears' plug, beside them."""
        plugs = {
            "in": takes("take", "socket", needed=True),
            "out-rear": sends("take"),
            "out-lid": sends("lid"),
        }
        links = {"out-rear.rear_$side": "in.rear_$side", "out-lid.lid_$side": "in.rear_$side"}
        return self.make(name, "adapter", slot="splitter", at=("tray",), connectors=plugs, links=links)

    def y_lead(self, name: str) -> Part:
        """Make an adapter that lets the lowers hang on the fronts' plugs, beside them."""
        plugs = {
            "in": takes("pod", paired=True, needed=True),
            "out-pod": sends("pod", paired=True),
            "out-low": sends("pod", paired=True, place="lowers"),
        }
        links = {"out-pod.drive": "in.drive", "out-low.drive": "in.drive"}
        return self.make(name, "adapter", slot="lead", at=("fairing_pods",), connectors=plugs, links=links)

    def adapter(self, name: str, at: tuple[str, ...]) -> Part:
        """Make an adapter from the usual speaker plug to blades."""
        plugs = {"in": takes("pod", paired=True, needed=True), "out": sends("blade", paired=True)}
        return self.make(
            name, "adapter", slot="adapter", at=at, connectors=plugs, links={"out.drive": "in.drive"}
        )

    # Speakers and what carries them ---------------------------------------------------------------

    def speaker(
        self,
        name: str,
        at: tuple[str, ...],
        *,
        ohm: float = 4.0,
        rms: float = 60.0,
        depth: float = 50.0,
        plug: str = "pod",
        **more,
    ) -> Part:
        return self.make(
            name,
            "speaker",
            slot="speaker",
            at=at,
            speaker=Speaker(impedance_ohm=ohm, rms_w=rms),
            spec={"depth_mm": depth},
            connectors={"terminals": takes(plug, paired=True, needed=True)},
            **more,
        )

    def ring(self, name: str, depth: float) -> Part:
        return self.make(name, "ring", slot="ring", at=("fairing_pods",), spec={"depth_mm": depth})

    def carrier(self, name: str, zone: str, **more) -> Part:
        return self.make(
            name, "carrier", slot="carrier", at=(zone,), mass_kg=self.rng.choice([1.0, 1.5, 2.25]), **more
        )

    # What is never placed -------------------------------------------------------------------------

    def preset(self, name: str, amplifiers: tuple[str, ...], minutes: int) -> Part:
        service = PresetService(amplifiers=amplifiers, minutes=minutes, days=4)
        return self.make(name, "preset", preset=service, mass_kg=0.0)

    def bundle(self, name: str, members: tuple[str, ...]) -> Part:
        return self.make(name, "bundle", members=members, mass_kg=0.0)
