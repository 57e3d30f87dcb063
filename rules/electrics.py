"""The checks of a build that need a wiring: what is fed by which channel, loads, fuses; and why there is no sound wiring."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import islice, product
from math import prod
from typing import Literal

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.rule import ChannelLimit
from rules.kinds import channel_limit, supply_limit
from rules.kinds.channel_limit import Load
from rules.kinds.supply_limit import Supplied
from rules.net import LOOM, Fed, Node, Sink
from rules.presets import chained, in_force_as_found, presets_to_make
from rules.scene import Scene
from rules.things import UNKNOWN_WORK
from rules.verdict import Cause, Finding, Status
from rules.wiring import Fedness, Option, TooManyWirings, mated_nodes, wirings

NO_MATE = "plug_without_mate"
NOT_FED = "speaker_not_fed"
NO_PRESET = "preset_not_offered"


@dataclass(frozen=True, slots=True)
class Electrics:
    """Every sound wiring of a build; where there is none, why, and whether missing facts alone stand in the way."""

    options: tuple[Option, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class Trouble:
    """A finding on one wiring. `stays`: it remains, whatever else is fed or mated besides."""

    finding: Finding
    stays: bool


STEPS = 2_500
"""Mates tried before a law is left weaker than it might be; it stays true."""

WORDED = 20
"""Wirings whose figures a finding names."""

CHOICES = 2_000
"""Choices of channels, likewise."""


Supply = Literal["none", "growing", "exact"]
"""What is asked of power kits: nothing; what stays wrong however many amplifiers come; or that all is right as it is."""


@dataclass(frozen=True, slots=True)
class Clash:
    """Needs and feeds to be had together, with what is asked of power kits."""

    needs: tuple[Node, ...]
    sinks: tuple[Sink, ...]
    supply: Supply
    counted: frozenset[Status]

    def without(self, other: Clash) -> Clash:
        """Leave out what another clash is made of."""
        return Clash(
            tuple(x for x in self.needs if x not in other.needs),
            tuple(x for x in self.sinks if x not in other.sinks),
            "none" if other.supply != "none" else self.supply,
            self.counted,
        )

    def without_needs(self, needs: Collection[Node], *, supply: Supply) -> Clash:
        """Leave out some needs."""
        return replace(self, needs=tuple(x for x in self.needs if x not in needs), supply=supply)


def check_electrics(bench: Bench, build: Build) -> Electrics:
    """Find every sound wiring of a build, or what refuses it."""
    judge = _Judge(bench, build, unknown_plugs=False)
    options = tuple(judge.options())
    if options:
        return Electrics(options, ())
    hopeful = _Judge(bench, build, unknown_plugs=True)
    open_findings = hopeful.best_open()
    if open_findings is None:
        return Electrics((), tuple(hopeful.laws((Status.REFUSED,))))
    missing = tuple(dict.fromkeys(cause for finding in open_findings for cause in finding.missing))
    return Electrics(
        (),
        tuple(
            replace(law, status=Status.UNKNOWN, causes=tuple(dict.fromkeys((*law.causes, *missing))))
            for law in judge.laws((Status.REFUSED, Status.UNKNOWN))
        ),
    )


def unchecked_wirings(bench: Bench, build: Build) -> tuple[Option, ...]:
    """Give every wiring of a build, sound or not: how a bike may be wired that comes into the shop."""
    net = bench.net(build, unknown_plugs=False)
    return tuple(Option(x.mates, x.feeds, frozenset()) for x in wirings(net, net.needs(), net.sinks()))


class _Judge:
    """Judges the wirings of one net."""

    def __init__(self, bench: Bench, build: Build, *, unknown_plugs: bool) -> None:
        self.bench = bench
        self.unknown_plugs = unknown_plugs
        self.scene = Scene(bench, build)
        self.net = bench.net(build, unknown_plugs=unknown_plugs)
        self.needs = self.net.needs()
        self.sinks = self.net.sinks()
        self.supply_needs = frozenset(self._supply_nodes())

    def with_parts(self, parts: Iterable[Placement]) -> _Judge:
        """Give a judge of the same build with more parts."""
        build = self.scene.build.union(parts)
        return _Judge(self.bench, build, unknown_plugs=self.unknown_plugs)

    def twin_key(self, placed: Placement) -> object:
        """Give what parts share that no wiring can tell apart; where a slot takes several, each part stands for itself."""
        return (
            placed.place,
            self.bench.tables.twins[placed.part],
            "" if self.is_alone(placed) else placed.part,
        )

    def is_alone(self, placed: Placement) -> bool:
        """Tell whether a part's slot takes no other beside it."""
        return self.bench.capacity(placed.place, self.bench.part(placed).slot or "") == 1

    def _may_join(self, owner: Placement, used: frozenset[Placement]) -> bool:
        """Tell whether a part's slot is not full of others that take part: a net may hold more than its slots do."""
        if owner == LOOM:
            return True
        slot = self.bench.part(owner).slot or ""
        held = sum(1 for x in used if x.place == owner.place and self.bench.part(x).slot == slot)
        return held < self.bench.capacity(owner.place, slot)

    def options(self) -> Iterator[Option]:
        for wiring in wirings(self.net, self.needs, self.sinks):
            if not any(True for _ in self._troubles(wiring, whole=True)):
                yield Option(wiring.mates, wiring.feeds, self._capped(wiring))

    def best_open(self) -> tuple[Finding, ...] | None:
        """Give the unknowns of the first wiring that nothing refuses; None if every wiring is refused."""
        for wiring in wirings(self.net, self.needs, self.sinks):
            found = [trouble.finding for trouble in self._troubles(wiring, whole=True)]
            if all(finding.status is Status.UNKNOWN for finding in found):
                return (*found, *self._unknown_plugs(wiring))
        return None

    def _unknown_plugs(self, wiring: Fedness) -> Iterator[Finding]:
        for node in sorted(mated_nodes(wiring.mates)):
            cause = self.bench.presence_cause(node)
            if cause is not None:
                yield Finding(rule=NO_MATE, status=Status.UNKNOWN, present=frozenset(), causes=(cause,))

    # --- laws: why there is no sound wiring ---------------------------------------------------------------------

    def laws(self, counted: Collection[Status]) -> Iterator[Finding]:
        """Give reasons, each a smallest set of needs and feeds that cannot be had together, no two sharing one."""
        supply: Supply = "exact" if self.supply_needs else "none"
        clash = Clash(tuple(self.needs), tuple(self.sinks), supply, frozenset(counted))
        found_one = False
        while self.still_has(clash):
            smallest = self._smallest(clash)
            yield from self._law(smallest)
            found_one = True
            # The other side of the same speakers would teach the same.
            speakers = {sink.speaker for sink in smallest.sinks}
            clash = clash.without(
                replace(smallest, sinks=tuple(x for x in clash.sinks if x.speaker in speakers))
            )
        if not found_one:
            yield self._law_of_the_whole(counted)

    def has(self, clash: Clash) -> bool:
        """Tell whether no wiring of these needs and feeds is free of lasting trouble.

        Raises: `TooManyWirings` when there are more than can be looked at.
        """
        sound = wirings(
            self.net,
            clash.needs,
            clash.sinks,
            may_join=self._may_join,
            is_hopeless=lambda feeds: self._is_hopeless(feeds, clash),
            limit=STEPS,
        )
        return all(any(True for _ in self._lasting(wiring, clash)) for wiring in sound)

    def _is_hopeless(self, feeds: dict[Sink, Fed], clash: Clash) -> bool:
        loads = _loads(feeds)
        return any(
            x.stays and x.finding.status in clash.counted
            for load in loads
            for x in self._load_troubles(load, loads)
        )

    def _lasting(self, wiring: Fedness, clash: Clash) -> Iterator[Finding]:
        for trouble in self._troubles(wiring, whole=False, supply=clash.supply):
            if trouble.stays and trouble.finding.status in clash.counted:
                yield trouble.finding

    def _smallest(self, clash: Clash) -> Clash:
        for need in clash.needs:
            if not self.net.partners[need]:
                return replace(clash, needs=(need,), sinks=(), supply="none")
        for sink in clash.sinks:
            fewer = replace(clash, sinks=tuple(x for x in clash.sinks if x != sink))
            if self.still_has(fewer):
                clash = fewer
        # What amplifiers draw is judged for all power leads together.
        for block in (
            self.supply_needs,
            *(frozenset({need}) for need in clash.needs if need not in self.supply_needs),
        ):
            fewer = clash.without_needs(block, supply="none" if block == self.supply_needs else clash.supply)
            if block and self.still_has(fewer):
                clash = fewer
        growing = replace(clash, supply="growing")
        return growing if clash.supply == "exact" and self.still_has(growing) else clash

    def _law(self, clash: Clash) -> Iterator[Finding]:
        """Say that these needs and feeds cannot be had together unless one of the plugs that ask gets a new mate.

        Whatever else comes or goes only takes mates away, so just the owners of the needs and the speakers must be there.
        """
        owners = frozenset({node.owner for node in clash.needs} | {sink.speaker for sink in clash.sinks})
        growth, repairs = self._grow(clash)
        for finding in self.troubled(clash) or growth.judge.troubled(clash) or self._unmet(clash):
            yield replace(finding, present=owners, repairs=repairs - growth.grown - self.scene.build)

    def _grow(self, clash: Clash) -> tuple[_Growth, frozenset[Placement]]:
        """Add whatever would not help until only what might help is left: the law is then as strong as can be."""
        growth = _Growth(self, clash)
        repairs = self.new_mates(clash)
        if clash.sinks or clash.supply != "none":
            while ahead := repairs - growth.helps - growth.grown - self.scene.build:
                growth.take(sorted(ahead, key=lambda x: (bool(self.bench.part(x).channels), x)))
                repairs = growth.judge.new_mates(clash)
        return growth, repairs

    def may_grow(self, clash: Clash, placed: Placement) -> bool:
        """Tell whether a part may be added to a law; another amplifier on a kit changes the sum that its fuse must match."""
        return clash.supply != "exact" or self._is_kit(placed)

    def still_has(self, clash: Clash) -> bool:
        """Tell whether the trouble lasts; False also when there are too many wirings to be sure."""
        if clash.supply == "none" and not clash.needs and self._has_everywhere(clash):
            return True
        try:
            return self.has(clash)
        except TooManyWirings:
            return False

    def _has_everywhere(self, clash: Clash) -> bool:
        """Tell whether every choice of reachable channels has trouble: more choices than there are wirings, so never too sure."""
        reach = [sorted(self.net.reach(sink)) for sink in clash.sinks]
        if prod(len(x) for x in reach) > CHOICES:
            return False
        return all(self._chosen_has(clash, choice) for choice in product(*reach))

    def _chosen_has(self, clash: Clash, choice: tuple[tuple[Placement, str], ...]) -> bool:
        by_channel: dict[tuple[Placement, str], list[Sink]] = {}
        for sink, source in zip(clash.sinks, choice, strict=True):
            by_channel.setdefault(source, []).append(sink)
        loads = [
            Load(
                owner=owner,
                channel=next(x for x in self.bench.part(owner).channels if x.id == name),
                sinks=tuple(sorted(sinks)),
            )
            for (owner, name), sinks in by_channel.items()
        ]
        return any(
            x.stays and x.finding.status in clash.counted
            for load in loads
            for x in self._load_troubles(load, loads)
        )

    def new_mates(self, clash: Clash) -> frozenset[Placement]:
        """Give all that could bring a new mate for a plug that asks, or wake a silent channel on the way."""
        asking = set(self.net.askers(clash.needs, clash.sinks))
        feeding = {facing.owner for node in asking for facing in self.net.partners[node]} - {LOOM}
        if clash.supply == "exact":
            asking |= {node for node in self.net.connectors if self._is_kit(node.owner)}
        mates = {
            x for node in asking for x in self.bench.mateable(self.net.place(node), self.net.faces[node])
        }
        owners = {node.owner for node in clash.needs} | {sink.speaker for sink in clash.sinks}
        return frozenset(mates) | self._flashes(owners | feeding)

    def _law_of_the_whole(self, counted: Collection[Status]) -> Finding:
        owners = frozenset(self.net.wires) - {LOOM}
        repairs = frozenset(
            placed
            for node, face in self.net.faces.items()
            for placed in self.bench.mateable(self.net.place(node), face)
        )
        repairs |= self._flashes(owners)
        for wiring in wirings(self.net, self.needs, self.sinks):
            for trouble in self._troubles(wiring, whole=True):
                if trouble.finding.status in counted:
                    return replace(trouble.finding, present=owners, repairs=repairs - self.scene.build)
        # There are too many ways to see which needs clash: they cannot all be had.
        causes = tuple(self.bench.cause("part.id", x) for x in sorted({sink.speaker for sink in self.sinks}))
        yet = Finding(rule=NOT_FED, status=Status.REFUSED, present=owners, causes=causes)
        return replace(
            yet, repairs=repairs - self.scene.build, detail=self.sinks[0].speaker.place if self.sinks else ""
        )

    def troubled(self, clash: Clash) -> tuple[Finding, ...]:
        """Word a clash by what goes wrong on its wirings: one finding a rule, with the figures of every wiring that it refuses."""
        by_rule: dict[str, list[Finding]] = {}
        for wiring in islice(wirings(self.net, clash.needs, clash.sinks, may_join=self._may_join), WORDED):
            for rule, finding in {x.rule: x for x in reversed(tuple(self._lasting(wiring, clash)))}.items():
                by_rule.setdefault(rule, []).append(finding)
        return tuple(
            replace(found[0], causes=tuple(dict.fromkeys(cause for x in found for cause in x.causes)))
            for _, found in sorted(by_rule.items())
        )

    def _unmet(self, clash: Clash) -> tuple[Finding, ...]:
        """Word a clash that no wiring comes of."""
        if clash.sinks:
            return (self._not_fed(list(clash.sinks)),)
        causes = tuple(self._plug_cause(need) for need in clash.needs)
        detail = str(clash.needs[0])
        return (
            Finding(rule=NO_MATE, status=Status.REFUSED, present=frozenset(), causes=causes, detail=detail),
        )

    def _not_fed(self, sinks: list[Sink]) -> Finding:
        speakers = sorted({sink.speaker for sink in sinks})
        return Finding(
            rule=NOT_FED,
            status=Status.REFUSED,
            present=frozenset(),
            causes=tuple(self.bench.cause("part.id", speaker) for speaker in speakers),
            detail=speakers[0].place,
        )

    def _plug_cause(self, node: Node) -> Cause:
        face = self.net.faces[node]
        part = self.bench.part(node.owner)
        return Cause(
            fact=f"part.connectors.{node.connector}",
            of=part.id,
            value=f"{face.type} {face.gender}",
            source=part.source,
        )

    def _flashes(self, owners: Iterable[Placement]) -> frozenset[Placement]:
        waiting = {
            (owner.place, channel.needs)
            for owner in owners
            for channel in self.bench.part(owner).channels
            if channel.needs is not None
        }
        return frozenset(
            placed
            for placed in self.bench.universe
            for place, tag in waiting
            if placed.place == place and tag in self.bench.part(placed).tags
        )

    # --- what is wrong with one wiring --------------------------------------------------------------------------

    def _troubles(self, wiring: Fedness, *, whole: bool, supply: Supply = "exact") -> Iterator[Trouble]:
        loads = _loads(wiring.feeds)
        for load in loads:
            yield from self._load_troubles(load, loads)
        if supply != "none":
            yield from self._supply_troubles(wiring, more_may_come=supply == "growing")
        if whole:
            yield from self._preset_troubles(wiring)
        if self.bench.found.unknown_work:
            yield from self._touched(wiring, loads)

    def _load_troubles(self, load: Load, loads: list[Load]) -> tuple[Trouble, ...]:
        """Give what is wrong with one channel; the same loads come up in many wirings, so each is judged once."""
        driven = frozenset(x.channel.id for x in loads if x.owner == load.owner)
        key = (load.owner, load.channel.id, load.sinks, driven & set(load.channel.bridges))
        known = self.bench.load_troubles
        if key not in known:
            known[key] = tuple(self._judge_load(load, driven))
        return known[key]

    def _judge_load(self, load: Load, driven: frozenset[str]) -> Iterator[Trouble]:
        for rule in self.bench.tables.channel_limits:
            for finding in channel_limit.check(rule, self.scene, load, driven):
                yield Trouble(finding, rule.limit != "speaker_power" or finding.status is Status.UNKNOWN)
            if rule.limit == "speaker_power":
                for finding in self._too_strong(rule, load):
                    if finding.status is Status.UNKNOWN:
                        yield Trouble(finding, stays=True)

    def _supply_troubles(self, wiring: Fedness, *, more_may_come: bool) -> Iterator[Trouble]:
        for supplied in self._supplied(wiring):
            for rule in self.bench.tables.supply_limits:
                if more_may_come and supply_limit.may_grow_into_fuse(rule, self.scene, supplied):
                    continue
                yield from (
                    Trouble(x, stays=True) for x in supply_limit.check_kit(rule, self.scene, supplied)
                )

    def _preset_troubles(self, wiring: Fedness) -> Iterator[Trouble]:
        """Refuse an amplifier whose preset would have to be made and that no service serves."""
        option = Option(wiring.mates, wiring.feeds, self._capped(wiring))
        for amplifier in sorted(self._never_preset(option)):
            causes = (self.bench.cause("part.id", amplifier),)
            yield Trouble(
                Finding(rule=NO_PRESET, status=Status.REFUSED, present=frozenset({amplifier}), causes=causes),
                stays=False,
            )

    def _never_preset(self, option: Option) -> frozenset[Placement]:
        services = self.bench.tables.services
        unserved = {
            x for x in option.capped | chained(self.bench, self.scene.build) if x.part not in services
        }
        if not unserved or not self.bench.found.presets:
            return frozenset(unserved)
        before = unchecked_wirings(self.bench, self.bench.present) or (None,)
        to_make = [
            presets_to_make(self.bench, self.scene.build, option, in_force_as_found(self.bench, x))[0]
            for x in before
        ]
        return frozenset(unserved).intersection(*to_make)

    def _touched(self, wiring: Fedness, loads: list[Load]) -> Iterator[Trouble]:
        places = self.bench.found.unknown_work
        known = {
            frozenset((sink, wiring_feed.mates) for sink, wiring_feed in feeds)
            for feeds in _present_feeds(self.bench)
        }
        for load in loads:
            fed = frozenset((sink, wiring.feeds[sink].mates) for sink in load.sinks)
            touching = sorted(sink.speaker.place for sink in load.sinks if sink.speaker.place in places)
            if touching and fed not in known:
                cause = Cause(fact=f"places.{touching[0]}.previous_work", of=touching[0], value=None)
                finding = Finding(
                    rule=UNKNOWN_WORK, status=Status.UNKNOWN, present=load.placements, causes=(cause,)
                )
                yield Trouble(finding, stays=False)

    def _capped(self, wiring: Fedness) -> frozenset[Placement]:
        rules = [rule for rule in self.bench.tables.channel_limits if rule.limit == "speaker_power"]
        return frozenset(
            load.owner
            for load in _loads(wiring.feeds)
            for rule in rules
            for finding in self._too_strong(rule, load)
            if finding.status is Status.REFUSED
        )

    def _too_strong(self, rule: ChannelLimit, load: Load) -> Iterator[Finding]:
        if self.bench.part(load.owner).kind == "amplifier":
            yield from channel_limit.too_strong(rule, self.scene, load)

    def _supplied(self, wiring: Fedness) -> Iterator[Supplied]:
        on_kit: dict[Placement, set[Placement]] = {}
        for pair in wiring.mates:
            for one, other in (pair, pair[::-1]):
                if self._is_kit(one.owner) and self._is_supplied(other.owner):
                    on_kit.setdefault(one.owner, set()).add(other.owner)
        for kit in sorted(on_kit):
            yield Supplied(kit=kit, amplifiers=tuple(sorted(on_kit[kit])))

    def _supply_nodes(self) -> Iterator[Node]:
        for need in self.needs:
            facing_kit = self._is_supplied(need.owner) and any(
                self._is_kit(x.owner) for x in self.net.partners[need]
            )
            if self._is_kit(need.owner) or facing_kit:
                yield need

    def _is_kit(self, owner: Placement) -> bool:
        return owner != LOOM and self.bench.part(owner).cable is not None

    def _is_supplied(self, owner: Placement) -> bool:
        return owner != LOOM and self.bench.part(owner).supply is not None


class _Growth:
    """Parts added to a law that would not help, and those that might."""

    def __init__(self, judge: _Judge, clash: Clash) -> None:
        self.judge = judge
        self.clash = clash
        self.grown: frozenset[Placement] = frozenset()
        self.helps: frozenset[Placement] = frozenset()
        self.present = {judge.twin_key(x) for x in judge.scene.build if judge.is_alone(x)}

    def take(self, parts: list[Placement]) -> None:
        """Add all of these if the trouble lasts; else one half after the other, down to the ones that might help."""
        self.grown |= frozenset(x for x in parts if self.judge.twin_key(x) in self.present)
        movable = self._one_of_each(x for x in parts if self.judge.may_grow(self.clash, x))
        self.helps |= frozenset(x for x in parts if not self.judge.may_grow(self.clash, x))
        if not movable:
            return
        larger = self.judge.with_parts(movable)
        if larger.still_has(self.clash):
            self.grown |= self._with_twins(movable)
            self.judge = larger
        elif len(movable) == 1:
            self.helps |= self._with_twins(movable)
        else:
            half = len(movable) // 2
            self.take(movable[:half])
            self.take(movable[half:])

    def _one_of_each(self, parts: Iterable[Placement]) -> list[Placement]:
        """Leave out parts whose twin is in: no wiring can tell them apart, and their slot takes only one."""
        kept: dict[object, Placement] = {}
        for x in parts:
            if x not in self.helps | self.grown:
                kept.setdefault(self.judge.twin_key(x), x)
        return list(kept.values())

    def _with_twins(self, parts: list[Placement]) -> frozenset[Placement]:
        bench = self.judge.bench
        twins = {
            y
            for x in parts
            for y in bench.in_slot(x.place, bench.part(x).slot or "")
            if self.judge.twin_key(x) == self.judge.twin_key(y)
        }
        return frozenset(twins)


def _present_feeds(bench: Bench) -> Iterator[list[tuple[Sink, Fed]]]:
    """Give, per channel, what feeds what on the bike now: what nobody touches may stay."""
    net = bench.net(bench.present, unknown_plugs=True)
    for wiring in wirings(net, net.needs(), net.sinks()):
        for load in _loads(wiring.feeds):
            yield [(sink, wiring.feeds[sink]) for sink in load.sinks]


def _loads(feeds: dict[Sink, Fed]) -> list[Load]:
    by_channel: dict[tuple[Placement, str], list[Sink]] = {}
    for sink, fed in feeds.items():
        by_channel.setdefault((fed.owner, fed.channel.id), []).append(sink)
    return [
        Load(owner=owner, channel=feeds[sinks[0]].channel, sinks=tuple(sorted(sinks)))
        for (owner, _), sinks in sorted(by_channel.items())
    ]
