"""What is wrong with one wiring of a build: loads, supply, presets, previous work."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal, NamedTuple

from rules.bench import Bench
from rules.build import Build, Placement
from rules.catalog.rule import ChannelLimit
from rules.chain import Chain, InForce, chained, in_force_as_found, presets_to_make
from rules.kinds import channel_limit, supply_limit
from rules.kinds.channel_limit import Load
from rules.kinds.supply_limit import Supplied
from rules.net import LOOM, Fed, Net, Node, Sink
from rules.scene import Scene
from rules.things import UNKNOWN_WORK
from rules.verdict import Cause, Finding, Status
from rules.wiring import Fedness, Option, wirings

NO_PRESET = "preset_not_offered"

Supply = Literal["none", "growing", "exact"]
"""What is asked of power kits: nothing; what stays wrong however many amplifiers come; or that all is right as it is."""


@dataclass(frozen=True, slots=True)
class Trouble:
    """A finding on one wiring. `stays`: it remains, whatever else is fed or mated besides. `by_load`: impedances make it so."""

    finding: Finding
    stays: bool
    by_load: bool = False


class Carried(NamedTuple):
    """What some feeds come to: the loads of the channels, what is wrong with these, and the amplifiers that a preset must cap."""

    loads: list[Load]
    troubles: tuple[Trouble, ...]
    capped: Build


def unchecked_wirings(bench: Bench, build: Build) -> tuple[Option, ...]:
    """Give every wiring of a build, sound or not, over plugs that may be there too: how a bike may be wired that comes in."""
    net = bench.net(build, unknown_plugs=True)
    return tuple(Option(x.mates, x.feeds, frozenset()) for x in wirings(net, net.needs(), net.sinks()))


def present_wirings(bench: Bench) -> tuple[Option, ...]:
    """Give every way in which the bike may be wired now, sound or not, as far as nobody has seen otherwise."""
    return tuple(x for x in unchecked_wirings(bench, bench.present) if bench.seen <= x.mates)


def in_force_now(bench: Bench) -> tuple[InForce, ...]:
    """Give the presets in force for each way in which the bike may be wired now."""
    if bench.chains_in_force is None:
        wirings_now = present_wirings(bench) if bench.found.presets else ()
        bench.chains_in_force = tuple(in_force_as_found(bench, x) for x in wirings_now) or (frozenset(),)
    return bench.chains_in_force


def unpreset(bench: Bench) -> Build:
    """Give the amplifiers that are there now with no preset in force, however the bike may be wired."""
    in_force = {amplifier for one in in_force_now(bench) for _, amplifier, _ in one}
    return frozenset(x for x in bench.present if bench.part(x).kind == "amplifier" and x not in in_force)


def check_presets(bench: Bench, build: Build) -> Iterator[Finding]:
    """Refuse an amplifier for which nobody makes presets, if it has none in force or something of its chain is gone."""
    for amplifier in sorted(x for x in chained(bench, build) if _is_unserved(bench, x)):
        chains = [frozenset(heads | fed) for heads, _, fed in _chains(bench, amplifier)]
        if not chains:
            yield _no_preset(bench, amplifier)
        for gone in sorted(frozenset.intersection(*chains) - build) if chains else ():
            yield replace(_no_preset(bench, amplifier), repairs=frozenset({gone}))


def _is_unserved(bench: Bench, amplifier: Placement) -> bool:
    return amplifier.part not in bench.tables.services


def _chains(bench: Bench, amplifier: Placement) -> list[Chain]:
    return [one for in_force in in_force_now(bench) for one in in_force if one[1] == amplifier]


def _no_preset(bench: Bench, amplifier: Placement) -> Finding:
    causes = (bench.cause("part.id", amplifier),)
    return Finding(rule=NO_PRESET, status=Status.REFUSED, present=frozenset({amplifier}), causes=causes)


class Inspector:
    """Says what is wrong with one wiring of a build: loads, supply, presets, previous work."""

    def __init__(self, bench: Bench, build: Build, *, unknown_plugs: bool, net: Net | None = None) -> None:
        self.bench = bench
        self.unknown_plugs = unknown_plugs
        self.scene = Scene(bench, build)
        self.net = net or bench.net(build, unknown_plugs=unknown_plugs)

    @cached_property
    def needs(self) -> list[Node]:
        """Give the plugs that must be mated."""
        return self.net.needs()

    @cached_property
    def sinks(self) -> list[Sink]:
        """Give the speaker sides that must be fed."""
        return self.net.sinks()

    @cached_property
    def supply_needs(self) -> frozenset[Node]:
        """Give the plugs that must be mated for power."""
        return frozenset(self._supply_nodes())

    @cached_property
    def _kits(self) -> frozenset[Placement]:
        return frozenset(x for x in self.net.wires if self.is_kit(x))

    @cached_property
    def _unserved(self) -> frozenset[Placement]:
        """Give the amplifiers for which nobody makes presets."""
        amplifiers = (x for x in self.scene.build if self.bench.part(x).kind == "amplifier")
        return frozenset(x for x in amplifiers if _is_unserved(self.bench, x))

    def troubles(self, wiring: Fedness, *, whole: bool, supply: Supply = "exact") -> Iterator[Trouble]:
        carried = self._carried(wiring.feeds)
        yield from carried.troubles
        if supply != "none":
            yield from self._supply_troubles(wiring, more_may_come=supply == "growing")
        if whole:
            yield from self._preset_troubles(wiring)
        if self.bench.found.unknown_work:
            yield from self._touched(wiring, carried.loads)

    def _carried(self, feeds: dict[Sink, Fed]) -> Carried:
        """Look at all channels together; many wirings differ in their power leads alone, so this is done once for their feeds."""
        key = tuple((sink, fed.owner, fed.channel.id) for sink, fed in feeds.items())
        known = self.bench.judged.carried
        if key not in known:
            loads = loads_of(feeds)
            troubles = tuple(x for load in loads for x in self.load_troubles_of(load, loads))
            capped = frozenset(load.owner for load in loads if self._is_capped(load))
            known[key] = Carried(loads, troubles, capped)
        carried: Carried = known[key]
        return carried

    def load_troubles_of(self, load: Load, loads: list[Load]) -> tuple[Trouble, ...]:
        """Give what is wrong with one channel; the same loads come up in many wirings, so each is judged once."""
        driven = frozenset(x.channel.id for x in loads if x.owner == load.owner)
        key = (load.owner, load.channel.id, load.sinks, driven & set(load.channel.bridges))
        known = self.bench.judged.troubles
        if key not in known:
            known[key] = tuple(self._judge_load(load, driven))
        return known[key]

    def _judge_load(self, load: Load, driven: frozenset[str]) -> Iterator[Trouble]:
        if self._is_new_in_chain(load):
            yield Trouble(_no_preset(self.bench, load.owner), stays=True)
        for rule in self.bench.tables.channel_limits:
            for finding in channel_limit.check(rule, self.scene, load, driven):
                is_known, by_power = finding.status is Status.REFUSED, rule.limit == "speaker_power"
                yield Trouble(finding, stays=not (by_power and is_known), by_load=is_known and not by_power)
            if rule.limit == "speaker_power":
                for finding in self._too_strong(rule, load):
                    if finding.status is Status.UNKNOWN:
                        yield Trouble(finding, stays=True)

    def _is_new_in_chain(self, load: Load) -> bool:
        """Tell whether an amplifier for which nobody makes presets feeds what no preset in force was made for."""
        owner, bench = load.owner, self.bench
        if (
            bench.part(owner).kind != "amplifier"
            or not _is_unserved(bench, owner)
            or not bench.is_chained(owner)
        ):
            return False
        fed = {speaker for _, _, speakers in _chains(bench, owner) for speaker in speakers}
        return any(sink.speaker not in fed for sink in load.sinks)

    def _supply_troubles(self, wiring: Fedness, *, more_may_come: bool) -> Iterator[Trouble]:
        for supplied in self._supplied(wiring):
            key, known = (supplied, more_may_come), self.bench.judged.troubles
            if key not in known:
                known[key] = tuple(self._judge_supply(supplied, more_may_come=more_may_come))
            yield from known[key]

    def _judge_supply(self, supplied: Supplied, *, more_may_come: bool) -> Iterator[Trouble]:
        for rule in self.bench.tables.supply_limits:
            if more_may_come and supply_limit.may_grow_into_fuse(rule, self.scene, supplied):
                continue
            yield from (Trouble(x, stays=True) for x in supply_limit.check_kit(rule, self.scene, supplied))

    def _preset_troubles(self, wiring: Fedness) -> Iterator[Trouble]:
        """Refuse an amplifier whose preset would have to be made and that no service serves."""
        if not self._unserved:
            return
        option = Option(wiring.mates, wiring.feeds, self.capped(wiring))
        for amplifier in sorted(self._never_preset(option)):
            # A preset in force is for the present chain: whatever is missing of it may bring it back.
            gone = self.bench.present - self.scene.build if self.bench.found.presets else frozenset()
            yield Trouble(replace(_no_preset(self.bench, amplifier), repairs=gone), stays=False)

    def _never_preset(self, option: Option) -> frozenset[Placement]:
        unserved = self._unserved & (option.capped | chained(self.bench, self.scene.build))
        if not unserved or not self.bench.found.presets:
            return unserved
        # A flash without plugs is not seen here. Whether it is still there, the whole schedule tells.
        unseen = {x for x in self.bench.present if self.bench.part(x).host and not self.bench.is_wired(x)}
        build = self.scene.build | unseen
        to_make = [presets_to_make(self.bench, build, option, x)[0] for x in in_force_now(self.bench)]
        return unserved.intersection(*to_make)

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

    def capped(self, wiring: Fedness) -> frozenset[Placement]:
        return self._carried(wiring.feeds).capped

    def _is_capped(self, load: Load) -> bool:
        rules = [rule for rule in self.bench.tables.channel_limits if rule.limit == "speaker_power"]
        found = (finding for rule in rules for finding in self._too_strong(rule, load))
        return any(finding.status is Status.REFUSED for finding in found)

    def _too_strong(self, rule: ChannelLimit, load: Load) -> tuple[Finding, ...]:
        """Say for which speakers an amplifier's channel is too strong, or may be: a preset can cap it."""
        key, known = (rule.id, load.owner, load.channel.id, load.sinks), self.bench.judged.strong
        if key not in known:
            is_amplifier = self.bench.part(load.owner).kind == "amplifier"
            known[key] = tuple(channel_limit.too_strong(rule, self.scene, load)) if is_amplifier else ()
        return known[key]

    def _supplied(self, wiring: Fedness) -> Iterator[Supplied]:
        on_kit: dict[Placement, set[Placement]] = {}
        for pair in wiring.mates:
            for one, other in (pair, pair[::-1]):
                if one.owner in self._kits and self._is_supplied(other.owner):
                    on_kit.setdefault(one.owner, set()).add(other.owner)
        for kit in sorted(on_kit):
            yield Supplied(kit=kit, amplifiers=tuple(sorted(on_kit[kit])))

    def _supply_nodes(self) -> Iterator[Node]:
        for need in self.needs:
            facing_kit = self._is_supplied(need.owner) and any(
                self.is_kit(x.owner) for x in self.net.partners(need)
            )
            if self.is_kit(need.owner) or facing_kit:
                yield need

    def is_kit(self, owner: Placement) -> bool:
        return owner != LOOM and self.bench.part(owner).cable is not None

    def _is_supplied(self, owner: Placement) -> bool:
        return owner != LOOM and self.bench.part(owner).supply is not None


def _present_feeds(bench: Bench) -> Iterator[list[tuple[Sink, Fed]]]:
    """Give, per channel, what feeds what on the bike now: what nobody touches may stay."""
    net = bench.net(bench.present, unknown_plugs=True)
    for wiring in wirings(net, net.needs(), net.sinks()):
        for load in loads_of(wiring.feeds) if bench.seen <= wiring.mates else ():
            yield [(sink, wiring.feeds[sink]) for sink in load.sinks]


def loads_of(feeds: dict[Sink, Fed]) -> list[Load]:
    """Give the channels that feed something, each with all that it feeds."""
    by_channel: dict[tuple[Placement, str], list[Sink]] = {}
    for sink, fed in feeds.items():
        by_channel.setdefault((fed.owner, fed.channel.id), []).append(sink)
    return [
        Load(owner=owner, channel=feeds[sinks[0]].channel, sinks=tuple(sorted(sinks)))
        for (owner, _), sinks in sorted(by_channel.items())
    ]
