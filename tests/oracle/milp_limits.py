"""Loads, power and supply in the mixed-integer model."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise, product
from typing import Any

from rules.build import Placement
from tests.oracle.checks_brute import _draws, _kit_check
from tests.oracle.milp_model import Frame
from tests.oracle.milp_wires import Channel, Wires
from tests.oracle.reading import Sink, exact


class Limits:
    """Adds what channels, kits and charging bear. `capped[amplifier, stage]`: its power must be capped by a preset."""

    def __init__(self, frame: Frame, wires: Wires) -> None:
        self.frame, self.world, self.wires = frame, frame.world, wires
        self.capped: dict[tuple[Placement, int], list[Any]] = {}
        limits = {rule.limit for rule in self.world.rules("channel_limit")}
        for stage in frame.stages:
            for channel in wires.channels:
                if "lowest_impedance" in limits:
                    self._lowest(channel, stage)
                if "bridge" in limits:
                    self._bridge(channel, stage)
                if "speaker_power" in limits:
                    self._power(channel, stage)
            self._supply(stage)

    def _slack(self, stage: int):
        """Give a term that is 0 once the path has begun: what the rider has already is not judged."""
        return 1 - self.frame.started[stage]

    # Channels -------------------------------------------------------------------------------------

    def _conducts(self, sink: Sink):
        ohm = exact(self.world.part(sink.speaker).speaker.impedance_ohm)
        assert ohm is not None
        return 1 / ohm

    def _lowest(self, channel: Channel, stage: int) -> None:
        loads = self.wires.loads_of(channel, stage)
        lowest = exact(self.wires.channel(channel).min_ohm)
        assert lowest is not None
        load = self.frame.sum(float(self._conducts(sink) * lowest) * fed for sink, fed in loads.items())
        most = float(sum(self._conducts(sink) for sink in loads) * lowest)
        self.frame.demand(load <= 1 + most * self._slack(stage))

    def _bridge(self, channel: Channel, stage: int) -> None:
        for half in self.wires.channel(channel).bridges:
            for side, other in product(self.wires.sides, self.wires.sides):
                mine = self.wires.into[side, stage].get(channel)
                theirs = self.wires.into[other, stage].get((channel[0], half))
                if mine is not None and theirs is not None:
                    self.frame.demand(mine + theirs <= 1 + self._slack(stage))

    def _power(self, channel: Channel, stage: int) -> None:
        """Climb the loads in steps: step k is 1 if the load is at least the k-th that can be."""
        loads = self.wires.loads_of(channel, stage)
        heights = sorted(self._heights(list(loads)) - {Fraction(0)})
        steps = [self.frame.binary() for _ in heights]
        for lower, upper in pairwise(steps):
            self.frame.demand(lower >= upper)
        rises = [high - low for low, high in zip([Fraction(0), *heights], heights, strict=False)]
        load = self.frame.sum(float(self._conducts(sink)) * fed for sink, fed in loads.items())
        climbed = self.frame.sum(float(rise) * step for rise, step in zip(rises, steps, strict=True))
        self.frame.demand(load == climbed)
        for number, height in enumerate(heights):
            level = steps[number] - (steps[number + 1] if number + 1 < len(steps) else 0)
            self._judge(channel, stage, height, level)

    def _heights(self, sinks: list[Sink]) -> set[Fraction]:
        by_side: dict[Any, set[Fraction]] = {}
        for sink in sinks:
            by_side.setdefault((sink.speaker.place, sink.side), {Fraction(0)}).add(self._conducts(sink))
        return {sum(chosen, Fraction(0)) for chosen in product(*by_side.values())}

    def _judge(self, channel: Channel, stage: int, load: Fraction, level) -> None:
        """Ask whether the power at one load is too much for a speaker; an amplifier's may be capped."""
        table = self.wires.channel(channel).watts
        rated = [Fraction(ohm) for ohm in table if Fraction(ohm) * load <= 1]
        watts = {Fraction(ohm): exact(power) for ohm, power in table.items()}
        for sink, fed in self.wires.loads_of(channel, stage).items():
            limit = exact(self.world.part(sink.speaker).speaker.rms_w)
            if rated and watts[max(rated)] * self._conducts(sink) / load <= limit:
                continue
            if rated and self.wires.amplifies(channel):
                self.capped.setdefault((channel[0], stage), []).append(self.frame.all_of([fed, level]))
            else:
                self.frame.demand(fed + level <= 1 + self._slack(stage))

    # Supply ---------------------------------------------------------------------------------------

    def _supply(self, stage: int) -> None:
        for rule in self.world.rules("supply_limit"):
            if rule.limit == "charging":
                self._charging(stage)
            elif rule.limit != "idle":
                for kit in self.frame.placements:
                    if self.world.part(kit).cable:
                        self._kit(rule, kit, stage)

    def _charging(self, stage: int) -> None:
        amplifiers = [one for one in self.frame.placements if self.world.part(one).kind == "amplifier"]
        room = exact(self.world.bike_fact("charging_headroom_a"))
        draws: dict[Placement, Any] = {one: sum(_draws(self.world, one)) for one in amplifiers}
        assert room is not None
        load = self.frame.sum(float(draw) * self.frame.here(one, stage) for one, draw in draws.items())
        self.frame.demand(load <= float(room) + float(sum(draws.values())) * self._slack(stage))

    def _kit(self, rule, kit: Placement, stage: int) -> None:
        """Forbid every set of amplifiers that a kit does not bear."""
        hangs: dict[Placement, list[Any]] = {}
        for mate in self.wires.mates:
            owners = {node.owner for node in mate}
            for one in owners - {kit, None} if kit in owners else ():
                if one is not None and self.world.part(one).supply:
                    hangs.setdefault(one, []).append(self.wires.mated[mate, stage])
        for size in range(1, len(hangs) + 1):
            for chosen in combinations(sorted(hangs), size):
                slots = [self.world.slot(one) for one in chosen]
                together = all(slots.count(slot) <= self.world.capacity(slot) for slot in slots)
                supplies = [self.world.part(one).supply for one in chosen]
                if (
                    together
                    and _kit_check(self.world, rule, self.world.part(kit).cable, supplies) is not True
                ):
                    mine = self.frame.sum(term for one in chosen for term in hangs[one])
                    others = self.frame.sum(
                        term for one, terms in hangs.items() if one not in chosen for term in terms
                    )
                    self.frame.demand(mine - others <= size - 1 + size * self._slack(stage))
