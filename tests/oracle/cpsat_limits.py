"""What channels, power kits and the charging system bear, in the CP-SAT model."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations
from math import lcm
from typing import Any

from rules.build import Placement
from tests.oracle.cpsat_feeds import Channel, Feeds
from tests.oracle.reading import Sink, exact, known


class Limits:
    """Adds the checks of wiring. `capped` notes when an amplifier needs a capping preset."""

    def __init__(self, path, feeds: Feeds) -> None:
        self.path, self.world, self.logic, self.feeds = path, path.world, path.logic, feeds
        self.capped: dict[tuple[Placement, int], list[Any]] = {}
        self.limits = {rule.limit for rule in self.world.rules("channel_limit")}
        for stage in path.stages:
            self._check(stage)

    def _check(self, stage: int) -> None:
        started = self.path.started[stage]
        for pair in self.feeds.pairs:
            if self.world.unknown_mate(*pair):
                self.logic.demand(self.logic.neg(self.feeds.mated[pair, stage]), where=[started])
        for channel in self.feeds.channels:
            if "lowest_impedance" in self.limits:
                self._not_too_low(channel, stage)
            if "bridge" in self.limits:
                self._bridge(channel, stage)
            if "speaker_power" in self.limits:
                self._power(channel, stage)
            self._familiar(channel, stage)
        for rule in self.world.rules("supply_limit"):
            self._supply(rule, stage)

    # Channels -------------------------------------------------------------------------------------

    def _familiar(self, channel: Channel, stage: int) -> None:
        """Where work is unknown, let a channel feed only what it may feed on the present bike, through the same mates."""
        sinks = self.feeds.sinks_of(channel, stage)
        unknown = self.world.found.unknown_work
        doubted = [literal for sink, literal in sinks.items() if sink.speaker.place in unknown]
        if doubted:
            drives = self.feeds.standing.drives if self.feeds.standing else ()
            before = {sink: way.mates for sink, way in drives if (way.source, way.channel) == channel}
            alike = [
                self.logic.all_of(self.feeds.mated[pair, stage] for pair in before[sink])
                if sink in before
                else self.logic.neg(literal)
                for sink, literal in sinks.items()
            ]
            self.logic.demand(
                self.logic.all_of(alike), where=[self.logic.any_of(doubted), self.path.started[stage]]
            )

    def _ohm(self, sink: Sink):
        return exact(self.world.part(sink.speaker).speaker.impedance_ohm)

    def _not_too_low(self, channel: Channel, stage: int) -> None:
        """Compare the sum of 1 / impedance with its limit, in whole numbers."""
        started, sinks = self.path.started[stage], self.feeds.sinks_of(channel, stage)
        lowest = exact(self.feeds.channel(channel).min_ohm)
        for sink, literal in sinks.items():
            if lowest is None or self._ohm(sink) is None:
                self.logic.demand(self.logic.neg(literal), where=[started])
        if lowest is not None:
            ohms = {sink: self._ohm(sink) for sink in sinks if self._ohm(sink) is not None}
            scale = lcm((1 / lowest).denominator, *((1 / ohm).denominator for ohm in ohms.values()))
            terms = [(int(scale / ohm), sinks[sink]) for sink, ohm in ohms.items()]
            self.logic.demand_at_most(terms, int(scale / lowest), where=[started])

    def _bridge(self, channel: Channel, stage: int) -> None:
        for mine in self.feeds.sinks_of(channel, stage).values():
            for half in self.feeds.channel(channel).bridges:
                for theirs in self.feeds.sinks_of((channel[0], half), stage).values():
                    self.logic.demand(self.logic.neg(theirs), where=[mine, self.path.started[stage]])

    def _power(self, channel: Channel, stage: int) -> None:
        """Note which amplifiers need a capping preset, and refuse what a preset cannot mend."""
        started, sinks = self.path.started[stage], self.feeds.sinks_of(channel, stage)
        table = known(self.feeds.channel(channel).watts)
        known_sinks = {
            sink: literal
            for sink, literal in sinks.items()
            if table is not None and self._ohm(sink) is not None
        }
        for sink, literal in sinks.items():
            if sink not in known_sinks or exact(self.world.part(sink.speaker).speaker.rms_w) is None:
                self.logic.demand(self.logic.neg(literal), where=[started])
        for load, level in self._levels(known_sinks).items():
            power = _power_at(table, 1 / load)
            for sink, literal in known_sinks.items():
                limit = exact(self.world.part(sink.speaker).speaker.rms_w)
                if power is None or (limit is not None and power / load / self._ohm(sink) > limit):
                    if power is not None and self.feeds.amplifies(channel):
                        both = self.logic.all_of([literal, level])
                        self.capped.setdefault((channel[0], stage), []).append(both)
                    else:
                        self.logic.demand(self.logic.neg(literal), where=[level, started])

    def _levels(self, sinks: dict[Sink, Any]) -> dict[Fraction, Any]:
        """Give for every load [1/ohm] that may hang on a channel, none aside, the literal that it does."""
        loads = sorted(self._loads(list(sinks)))
        scale = lcm(*(load.denominator for load in loads))
        levels = {load: self.logic.fresh() for load in loads}
        self.logic.model.add_exactly_one(levels.values())
        self.logic.model.add(
            sum(int(scale / self._ohm(sink)) * self.logic.number(one) for sink, one in sinks.items())
            == sum(int(scale * load) * level for load, level in levels.items())
        )
        return {load: level for load, level in levels.items() if load}

    def _loads(self, sinks: list[Sink]) -> set[Fraction]:
        """Add up what may hang together: of every slot, and side, no more than it holds."""
        groups: dict[Any, list[Fraction]] = {}
        for sink in sinks:
            groups.setdefault((self.world.slot(sink.speaker), sink.side), []).append(1 / self._ohm(sink))
        loads = {Fraction(0)}
        for (slot, _), each in groups.items():
            most = max(self.world.capacity(slot), sum(x.slot == slot[1] for x in self._standing_at(slot[0])))
            some = {
                sum(chosen, Fraction(0)) for size in range(most + 1) for chosen in combinations(each, size)
            }
            loads = {load + more for load in loads for more in some}
        return loads

    def _standing_at(self, place: str):
        return [self.world.part(one) for one in self.world.present if one.place == place]

    # Supply ---------------------------------------------------------------------------------------

    def _supply(self, rule, stage: int) -> None:
        if rule.limit == "charging":
            self._charging(stage)
        elif rule.limit != "idle":
            for kit in self.path.universe:
                if self.world.part(kit).cable:
                    self._kit(rule, kit, stage)

    def _fed_amplifiers(self, kit: Placement, stage: int):
        """Give each amplifier that may hang on the kit, with the literal that it does."""
        hangs: dict[Any, list[Any]] = {}
        for pair in self.feeds.pairs:
            owners = {node.owner for node in pair}
            for one in owners - {kit, None} if kit in owners else ():
                if self.world.part(one).supply:
                    hangs.setdefault(one, []).append(self.feeds.mated[pair, stage])
        return {one: self.logic.any_of(literals) for one, literals in hangs.items()}

    def _kit(self, rule, kit: Placement, stage: int) -> None:
        hangs, cable = self._fed_amplifiers(kit, stage), self.world.part(kit).cable
        for size in range(1, len(hangs) + 1):
            for chosen in combinations(sorted(hangs), size):
                if self._can_be_together(chosen) and not _kit_holds(
                    rule, cable, [self.world.part(one).supply for one in chosen]
                ):
                    exactly = [lit if one in chosen else self.logic.neg(lit) for one, lit in hangs.items()]
                    self.logic.demand(False, where=[*exactly, self.path.started[stage]])

    def _can_be_together(self, placements) -> bool:
        slots = [self.world.slot(one) for one in placements]
        return all(slots.count(slot) <= self.world.capacity(slot) for slot in slots)

    def _charging(self, stage: int) -> None:
        draws = {
            one: _draw(self.world.part(one)) for one in self.path.universe if self.world.part(one).supply
        }
        headroom = exact(self.world.bike_fact("charging_headroom_a"))
        started = self.path.started[stage]
        for one, draw in draws.items():
            if headroom is None or draw is None:
                self.logic.demand(self.logic.neg(self.path.here[one, stage]), where=[started])
        if headroom is not None:
            terms = {one: draw for one, draw in draws.items() if draw is not None}
            scale = lcm(headroom.denominator, *(draw.denominator for draw in terms.values()))
            weighted = [(int(scale * draw), self.path.here[one, stage]) for one, draw in terms.items()]
            self.logic.demand_at_most(weighted, int(scale * headroom), where=[started])


def _power_at(table, ohm: Fraction) -> Fraction | None:
    """Give the rated power at the largest rated impedance that is not above this one."""
    rated = sorted((Fraction(one), exact(watts)) for one, watts in table.items() if Fraction(one) <= ohm)
    return rated[-1][1] if rated else None


def _kit_holds(rule, cable, supplies) -> bool:
    ampacity, length, area = exact(cable.ampacity_a), exact(cable.length_m), exact(cable.area_mm2)
    full: list[Any] = [exact(one.full_a) for one in supplies]
    fuses: list[Any] = [exact(one.fuse_a) for one in supplies]
    if rule.limit == "fuse":
        if None in fuses or ampacity is None:
            return False
        return sum(fuses) <= ampacity and sum(fuses) in {exact(one) for one in cable.fuses_a}
    if None in full:
        return False
    if rule.limit == "ampacity":
        return ampacity is not None and sum(full) <= ampacity
    return (
        length is not None
        and area is not None
        and 2 * Fraction("0.0178") * length * sum(full) / area <= exact(rule.most)
    )


def _draw(part) -> Fraction | None:
    idle, efficiency, power = exact(part.supply.idle_a), exact(part.supply.efficiency), Fraction(0)
    for channel in part.channels:
        if not channel.bridges:
            table = known(channel.watts)
            if table is None:
                return None
            power += Fraction(str(table[max(table, key=Fraction)]))
    return None if idle is None or efficiency is None else idle + power / 3 / efficiency / Fraction("13.8")
