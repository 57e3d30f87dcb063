"""Mates, feeds and presets in the CP-SAT model, and the checks that depend on them."""

from __future__ import annotations

from fractions import Fraction
from functools import cached_property
from itertools import combinations
from math import lcm
from types import SimpleNamespace
from typing import Any, NamedTuple

from ortools.sat.python import cp_model

from rules.build import Placement
from tests.oracle.cpsat_logic import Logic
from tests.oracle.reading import End, Mate, Node, Sink, exact, known


class Way(NamedTuple):
    """One way in which a sink may be fed: the mates that it goes through, and the channel at its end."""

    mates: tuple[frozenset[Node], ...]
    source: Placement
    channel: str


Drive = tuple[Sink, Way]
"""A sink and the way in which it is fed."""


class Standing(NamedTuple):
    """One wiring of the bike as it stands, and how it feeds every sink."""

    mates: frozenset[Mate]
    drives: frozenset[Drive]


class Wires:
    """Adds wirings to a path model. `feeds[channel, sink, stage]` is a literal.

    Stage 0 is wired as `standing` says; not at all if that is None, and in any way while the standing ones are looked for.
    """

    def __init__(self, path, standing: Standing | None, *, looking: bool = False) -> None:
        self.path, self.world, self.logic = path, path.world, path.logic
        self.standing = standing
        self._replugs: dict[Any, Any] = {}
        self.wired_now = looking or standing is not None
        self._draw_mates()
        self._draw_feeds()
        for stage in path.stages:
            self._check(stage)
            self._forbid_rewiring(stage)
        self._forbid_second_moves()
        self._draw_presets()

    # Mates ----------------------------------------------------------------------------------------

    @cached_property
    def pairs(self) -> list[frozenset[Node]]:
        nodes = self.world.nodes(self.path.universe)
        return [frozenset(pair) for pair in combinations(nodes, 2) if self.world.mate(*pair)]

    def _stands(self, stage: int):
        """Give a literal: there is a wiring at this stage (the present build may have none)."""
        return self.wired_now if stage == 0 else self.logic.any_of([self.path.started[stage], self.wired_now])

    def _draw_mates(self) -> None:
        logic, path = self.logic, self.path
        self.mated = {(pair, stage): logic.fresh() for pair in self.pairs for stage in range(path.last + 1)}
        if self.standing is not None:
            self.mated |= {(pair, 0): pair in self.standing.mates for pair in self.pairs}
        for stage in range(path.last + 1):
            for pair in self.pairs:
                for node in pair:
                    if node.owner:
                        logic.demand(path.here[node.owner, stage], where=[self.mated[pair, stage]])
                logic.demand(self._stands(stage), where=[self.mated[pair, stage]])
                if stage:
                    self._keep_in_empty_stage(pair, stage)
            for node in self.world.nodes(path.universe):
                self._plug(node, stage)

    def _keep_in_empty_stage(self, pair, stage: int) -> None:
        idle = self.logic.neg(self.path.changes[stage])
        now, before = self.mated[pair, stage], self.mated[pair, stage - 1]
        self.logic.demand(now, where=[idle, before])
        self.logic.demand(before, where=[idle, now])

    def _plug(self, node: Node, stage: int) -> None:
        mine = [self.mated[pair, stage] for pair in self.pairs if node in pair]
        connector = self.world.connector(node)
        self.logic.model.add(sum(mine) <= connector.accepts)
        if node.owner and connector.needed:
            here = self.path.here[node.owner, stage]
            self.logic.demand(self.logic.any_of(mine), where=[here, self._stands(stage)])

    # Feeds ----------------------------------------------------------------------------------------

    @cached_property
    def ways(self) -> dict[Sink, list[Way]]:
        return {
            sink: list(ways(self.world, self.pairs, sink))
            for one in self.path.universe
            for sink in self.world.sinks(one)
        }

    def _draw_feeds(self) -> None:
        self.feeds: dict[Any, Any] = {}
        self.taken: dict[Any, Any] = {}
        for stage in range(self.path.last + 1):
            used: dict[Any, list[Any]] = {pair: [] for pair in self.pairs}
            for sink, possible in self.ways.items():
                taken = [self._taken(way, stage) for way in possible]
                self.taken |= {
                    (sink, way, stage): literal for way, literal in zip(possible, taken, strict=True)
                }
                here = self.path.here[sink.speaker, stage]
                self.logic.demand(self.logic.any_of(taken), where=[here, self._stands(stage)])
                for way, literal in zip(possible, taken, strict=True):
                    self.feeds.setdefault(((way.source, way.channel), sink, stage), []).append(literal)
                    for pair in way.mates:
                        used[pair].append(literal)
            for pair in self.pairs:
                if not any(node.owner and self.world.connector(node).needed for node in pair):
                    self.logic.demand(self.logic.any_of(used[pair]), where=[self.mated[pair, stage]])
        self.feeds = {key: self.logic.any_of(literals) for key, literals in self.feeds.items()}
        self.channels = sorted({channel for channel, _, _ in self.feeds})

    def _taken(self, way: Way, stage: int):
        return self.logic.all_of([*(self.mated[pair, stage] for pair in way.mates), self._speaks(way, stage)])

    def _speaks(self, way: Way, stage: int):
        needs = self._channel((way.source, way.channel)).needs
        if needs is None:
            return True
        opening = [
            one
            for one in self.path.universe
            if one.place == way.source.place and needs in self.world.part(one).tags
        ]
        return self.logic.any_of([self.path.here[one, stage] for one in opening])

    def _channel(self, channel):
        return next(one for one in self.world.part(channel[0]).channels if one.id == channel[1])

    def _sinks_of(self, channel, stage: int):
        return {
            sink: lit
            for (fed_by, sink, when), lit in self.feeds.items()
            if fed_by == channel and when == stage
        }

    def _amplifies(self, channel):
        return self.world.part(channel[0]).kind == "amplifier"

    # Checks ---------------------------------------------------------------------------------------

    def _check(self, stage: int) -> None:
        started = self.path.started[stage]
        for pair in self.pairs:
            if self.world.unknown_mate(*pair):
                self.logic.demand(self.logic.neg(self.mated[pair, stage]), where=[started])
        limits = {rule.limit for rule in self.world.rules("channel_limit")}
        for channel in self.channels:
            sinks = self._sinks_of(channel, stage)
            if "lowest_impedance" in limits:
                self.logic.demand(self._not_too_low(channel, sinks), where=[started])
            if "bridge" in limits:
                self._bridge(channel, stage, started)
            self._familiar(channel, stage)
        self._power(stage, "speaker_power" in limits)
        for rule in self.world.rules():
            if rule.kind == "supply_limit":
                self._supply(rule, stage)

    def _familiar(self, channel, stage: int) -> None:
        """Where work is unknown, let a channel feed only what it may feed on the present bike."""
        doubted = [
            literal
            for sink, literal in self._sinks_of(channel, stage).items()
            if sink.speaker.place in self.world.found.unknown_work
        ]
        if doubted:
            mine = {
                (sink, way): literal
                for (sink, way, when), literal in self.taken.items()
                if when == stage and (way.source, way.channel) == channel
            }
            before = self.standing.drives if self.standing else frozenset()
            alike = self.logic.all_of(
                [one if drive in before else self.logic.neg(one) for drive, one in mine.items()]
            )
            self.logic.demand(alike, where=[self.logic.any_of(doubted), self.path.started[stage]])

    def _ohm(self, sink: Sink):
        return exact(self.world.part(sink.speaker).speaker.impedance_ohm)

    def _not_too_low(self, channel, sinks):
        lowest = exact(self._channel(channel).min_ohm)
        unclear = [literal for sink, literal in sinks.items() if lowest is None or self._ohm(sink) is None]
        passes = [self.logic.neg(literal) for literal in unclear]
        if lowest is not None:
            passes.append(self._conducts_at_most(sinks, 1 / lowest))
        return self.logic.all_of(passes)

    def _conducts_at_most(self, sinks, limit: Fraction):
        """Compare the sum of 1 / impedance with a limit, in whole numbers."""
        ohms = {sink: self._ohm(sink) for sink in sinks if self._ohm(sink) is not None}
        scale = lcm(limit.denominator, *((1 / ohm).denominator for ohm in ohms.values()))
        terms = [(int(scale / ohm), sinks[sink]) for sink, ohm in ohms.items()]
        return self.logic.at_most(terms, int(scale * limit))

    def _bridge(self, channel, stage: int, started) -> None:
        mine = self.logic.any_of(self._sinks_of(channel, stage).values())
        for half in self._channel(channel).bridges:
            theirs = self.logic.any_of(self._sinks_of((channel[0], half), stage).values())
            self.logic.demand(self.logic.neg(theirs), where=[mine, started])

    def _power(self, stage: int, limited: bool) -> None:
        """Note which amplifiers need a capping preset, and refuse what a preset cannot mend."""
        self.capped = getattr(self, "capped", {})
        started = self.path.started[stage]
        for channel in self.channels:
            too_much = list(self._overloads(channel, stage)) if limited else []
            for literal, is_known in too_much:
                if not is_known or not self._amplifies(channel):
                    self.logic.demand(self.logic.neg(literal), where=[started])
                else:
                    self.capped.setdefault((channel[0], stage), []).append(literal)

    def _overloads(self, channel, stage: int):
        """Give literals: a sink gets too much power (True), or nobody knows (False), by set of sinks."""
        sinks = self._sinks_of(channel, stage)
        for size in range(1, len(sinks) + 1):
            for chosen in combinations(sorted(sinks), size):
                if not self._can_be_together({sink.speaker for sink in chosen}):
                    continue
                exactly = [lit if sink in chosen else self.logic.neg(lit) for sink, lit in sinks.items()]
                results = {self._overload(channel, chosen, sink) for sink in chosen}
                if None in results:
                    yield self.logic.all_of(exactly), False
                if True in results:
                    yield self.logic.all_of(exactly), True

    def _can_be_together(self, speakers) -> bool:
        slots = [self.world.slot(one) for one in speakers]
        return all(slots.count(slot) <= self.world.capacity(slot) for slot in slots)

    def _overload(self, channel, chosen, sink: Sink):
        ohms, table = [self._ohm(one) for one in chosen], known(self._channel(channel).watts)
        limit = exact(self.world.part(sink.speaker).speaker.rms_w)
        if None in ohms or table is None or limit is None:
            return None
        parallel = 1 / sum(1 / ohm for ohm in ohms)
        rated = sorted(
            (Fraction(ohm), exact(watts)) for ohm, watts in table.items() if Fraction(ohm) <= parallel
        )
        return rated[-1][1] * parallel / self._ohm(sink) > limit if rated else None

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
        for pair in self.pairs:
            owners = {node.owner for node in pair}
            for one in owners - {kit, None} if kit in owners else ():
                if self.world.part(one).supply:
                    hangs.setdefault(one, []).append(self.mated[pair, stage])
        return {one: self.logic.any_of(literals) for one, literals in hangs.items()}

    def _kit(self, rule, kit: Placement, stage: int) -> None:
        hangs, cable = self._fed_amplifiers(kit, stage), self.world.part(kit).cable
        for size in range(1, len(hangs) + 1):
            for chosen in combinations(sorted(hangs), size):
                exactly = self.logic.all_of(
                    [lit if one in chosen else self.logic.neg(lit) for one, lit in hangs.items()]
                )
                if not _kit_holds(rule, cable, [self.world.part(one).supply for one in chosen]):
                    self.logic.demand(self.logic.neg(exactly), where=[self.path.started[stage]])

    def _charging(self, stage: int) -> None:
        amplifiers = [one for one in self.path.universe if self.world.part(one).supply]
        draws = {one: _draw(self.world.part(one)) for one in amplifiers}
        headroom = exact(self.world.bike_fact("charging_headroom_a"))
        for size in range(1, len(amplifiers) + 1):
            for chosen in combinations(amplifiers, size):
                needed: list[Any] = [draws[one] for one in chosen]
                if headroom is None or None in needed or sum(needed) > headroom:
                    here = [self.path.here[one, stage] for one in chosen]
                    self.logic.demand(
                        self.logic.neg(self.logic.all_of(here)), where=[self.path.started[stage]]
                    )

    # Re-plugging ----------------------------------------------------------------------------------

    def replugged(self, one: Placement, stage: int):
        """Give a literal: this placement stays, and a plug of it is in a re-plugged mate."""
        mine = [pair for pair in self.pairs if any(node.owner == one for node in pair)]
        moved = self.logic.any_of([self._is_replugged(pair, stage) for pair in mine])
        return self.logic.all_of([self.path.here[one, stage - 1], self.path.here[one, stage], moved])

    def _is_replugged(self, pair: Mate, stage: int):
        key = pair, stage
        if key not in self._replugs:
            one, two = pair
            is_new = [self.mated[pair, stage], self.logic.neg(self.mated[pair, stage - 1])]
            moved = self.logic.any_of([self._has_moved(one, stage), self._has_moved(two, stage)])
            inserted = self.logic.any_of([self._inserts(one, two, stage), self._inserts(two, one, stage)])
            self._replugs[key] = self.logic.all_of([*is_new, moved, self.logic.neg(inserted)])
        return self._replugs[key]

    def _has_moved(self, node: Node, stage: int):
        """Give a literal: the plug has lost a mate whose owner stays."""
        lost = []
        for other, pair in self._others(node):
            stays = self.path.here[other.owner, stage] if other.owner else True
            lost.append([self.mated[pair, stage - 1], self.logic.neg(self.mated[pair, stage]), stays])
        return self.logic.any_of([self.logic.all_of(literals) for literals in lost])

    def _inserts(self, come: Node, node: Node, stage: int):
        """Give a literal: the owner of `come` is new, and lies between the other plug and one that it was mated with."""
        if come.owner is None:
            return False
        between = []
        for former, pair in self._others(node):
            beyond = [self.mated[on, stage] for end, on in self._others(former) if end.owner == come.owner]
            between.append(self.logic.all_of([self.mated[pair, stage - 1], self.logic.any_of(beyond)]))
        return self.logic.all_of([self.path.add[come.owner, stage], self.logic.any_of(between)])

    def _others(self, node: Node) -> list[tuple[Node, Mate]]:
        """Give every plug that this one may be mated with, and the mate."""
        return [(other, pair) for pair in self.pairs if node in pair for other in pair - {node}]

    # Rewiring -------------------------------------------------------------------------------------

    def _forbid_rewiring(self, stage: int) -> None:
        for one in self.path.universe:
            part = self.world.part(one)
            if part.id not in self.path.question.allowed_rewiring:
                if part.rewires:
                    self.logic.demand(self.logic.neg(self.path.add[one, stage]))
                if part.kind in {"harness", "power_kit"} and one not in self.world.stock:
                    self.logic.demand(self.logic.neg(self.path.remove[one, stage]))
        for channel in self.channels:
            if self._amplifies(channel):
                for zone in self.zones:
                    self._keep_channel(channel, zone, stage)
                    self._hand_over(channel, zone, stage)

    @cached_property
    def zones(self) -> list[tuple[str, str]]:
        return sorted({(sink.speaker.place, sink.side) for sink in self.ways})

    def _drives(self, channel, zone, stage: int):
        literals = [
            lit
            for sink, lit in self._sinks_of(channel, stage).items()
            if (sink.speaker.place, sink.side) == zone
        ]
        return self.logic.any_of(literals)

    def _keep_channel(self, channel, zone, stage: int) -> None:
        """While an amplifier stays, a zone side that it fed is fed by the same channel, or silent."""
        stays = self.path.here[channel[0], stage]
        before, now = self._drives(channel, zone, stage - 1), self._drives(channel, zone, stage)
        self.logic.demand(now, where=[before, stays, self._sounds(zone, stage)])

    def _sounds(self, zone, stage: int):
        return self.logic.any_of([self._drives(other, zone, stage) for other in self.channels])

    def _hand_over(self, channel, zone, stage: int) -> None:
        """Where another amplifier comes into the slot, its channel of the same id takes over."""
        old, slot = channel[0], self.world.slot(channel[0])
        successors = [one for one in self.path.universe if one != old and self.world.slot(one) == slot]
        successors = [one for one in successors if self.world.part(one).kind == "amplifier"]
        taken_over = self.logic.any_of(
            [
                self.logic.all_of([self.path.add[one, stage], self._drives((one, channel[1]), zone, stage)])
                for one in successors
            ]
        )
        for one in successors:
            change = [
                self.path.remove[old, stage],
                self.path.add[one, stage],
                self._drives(channel, zone, stage - 1),
            ]
            self.logic.demand(taken_over, where=[*change, self._sounds(zone, stage)])

    def _forbid_second_moves(self) -> None:
        """Once a step has taken a zone side from an amplifier to another source, no amplifier may have it."""
        for zone in self.zones:
            amplified: dict[int, Any] = {}
            other: dict[int, Any] = {}
            for stage in range(self.path.last + 1):
                kinds = {True: amplified, False: other}
                for kind, literals in kinds.items():
                    channels = [one for one in self.channels if self._amplifies(one) is kind]
                    literals[stage] = self.logic.any_of([self._drives(one, zone, stage) for one in channels])
            for back, again in combinations(range(1, self.path.last + 1), 2):
                given_back = [amplified[back - 1], other[back]]
                self.logic.demand(self.logic.neg(amplified[again]), where=given_back)

    # Presets --------------------------------------------------------------------------------------

    def _draw_presets(self) -> None:
        logic, path = self.logic, self.path
        amplifiers = [one for one in path.universe if self.world.part(one).kind == "amplifier"]
        self.amplifiers = amplifiers
        self.made, self.kept = {}, {}
        force = {
            one: self.wired_now and one in self.world.present and one.part in self.world.found.presets
            for one in amplifiers
        }
        for stage in path.stages:
            for one in amplifiers:
                kept = logic.all_of([force[one], path.here[one, stage], self._same_chain(one, stage)])
                needs = self._needs_preset(one, stage)
                made = logic.all_of([path.changes[stage], needs, logic.neg(kept)])
                if not self.world.services(one.part, path.day(stage)):
                    logic.demand(logic.neg(made))
                self.kept[one, stage], self.made[one, stage] = kept, made
                force[one] = logic.any_of([kept, made])

    def _needs_preset(self, one: Placement, stage: int):
        chained = any(
            rule.kind == "preset_chain" and self.world.selects_placed(rule.subject, one)
            for rule in self.world.rules()
        )
        return self.logic.all_of(
            [self.path.here[one, stage], self.logic.any_of([chained, *self.capped.get((one, stage), [])])]
        )

    def _same_chain(self, amplifier: Placement, stage: int):
        now, before = self._chain(amplifier, stage), self._chain(amplifier, stage - 1)
        return self.logic.neg(self.logic.any_of([self.logic.differ(now[key], before[key]) for key in now]))

    def _chain(self, amplifier: Placement, stage: int):
        """Give a literal for everything that may be in an amplifier's chain."""
        chain, here = {}, self.path.here
        heads = [one for one in self.path.universe if self.world.part(one).kind == "head_unit"]
        for head in heads:
            chain[head] = here[head, stage]
            for one in self.path.universe:
                if one.place == head.place and head.part in self.world.part(one).host:
                    both = self.logic.all_of([here[head, stage], here[one, stage]])
                    chain[one] = self.logic.any_of([chain.get(one, False), both])
        for channel in self.channels:
            if channel[0] == amplifier:
                for sink, literal in self._sinks_of(channel, stage).items():
                    key = ("feeds", sink.speaker)
                    chain[key] = self.logic.any_of([chain.get(key, False), literal])
        return chain


def standing_wirings(world) -> list[Standing]:
    """Give the wirings of the present build that hold what somebody has seen: the model without any visits."""
    here = {(one, 0): True for one in world.present}
    bare = SimpleNamespace(
        world=world, logic=Logic(), stages=range(0), last=0, universe=sorted(world.present), here=here
    )
    wires = Wires(bare, None, looking=True)
    solver, seen = cp_model.CpSolver(), _Wirings(wires)
    solver.parameters.enumerate_all_solutions = True
    solver.solve(bare.logic.model, seen)
    return sorted(
        (one for one in seen.found if world.may_be_wired(one.mates)),
        key=lambda one: sorted(sorted(node.name for node in mate) for mate in one.mates),
    )


class _Wirings(cp_model.CpSolverSolutionCallback):
    """Collects the wirings that a solver comes across."""

    def __init__(self, wires: Wires) -> None:
        super().__init__()
        self.wires = wires
        self.found: set[Standing] = set()

    def on_solution_callback(self) -> None:
        taken, mated = self.wires.taken.items(), self.wires.mated.items()
        drives = frozenset((sink, way) for (sink, way, _), one in taken if self._is_true(one))
        self.found.add(Standing(frozenset(pair for (pair, _), one in mated if self._is_true(one)), drives))

    def _is_true(self, literal) -> bool:
        return literal if isinstance(literal, bool) else self.boolean_value(literal)


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


def ways(world, pairs, sink: Sink):
    """Give every way to feed a sink through the given mates."""
    terminals = world.part(sink.speaker).connectors["terminals"]
    end = End("terminals", "drive", sink.side if terminals.paired else None)
    yield from _onward(world, pairs, sink.speaker, end, ())


def _onward(world, pairs, owner, end: End, mates):
    here = Node(owner, end.connector)
    touched = {node for mate in mates for node in mate}
    for pair in pairs:
        if here not in pair or here in touched:
            continue
        (there,) = pair - {here}
        if there in touched:
            continue
        arrived = End(there.connector, end.lane, end.side)
        channel = _ends_at(world, there.owner, arrived)
        if channel:
            yield Way((*mates, pair), there.owner, channel)
        else:
            link = world.links(there.owner).get(arrived)
            if link:
                yield from _onward(world, pairs, there.owner, link, (*mates, pair))


def _ends_at(world, owner, end: End) -> str | None:
    channels = world.part(owner).channels if owner else ()
    return next((one.id for one in channels if one.output == f"{end.connector}.{end.lane}"), None)
