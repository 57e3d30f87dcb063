"""Why a build has no sound wiring: needs and feeds that cannot be had together, as laws for the search."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import islice, product
from math import prod

from rules.build import Placement
from rules.kinds.channel_limit import Load
from rules.net import LOOM, Fed, Node, Sink
from rules.troubles import Inspector, Supply, Trouble, loads_of
from rules.verdict import Cause, Finding, Status, TrueOf
from rules.wiring import Fedness, Option, TooManyWirings, mated_nodes, wirings

NO_MATE = "plug_without_mate"
NOT_FED = "speaker_not_fed"

STEPS = 2_500
"""Mates tried before a law is left weaker than it might be; it stays true."""

WORDED = 20
"""Wirings whose figures a finding names."""

CHOICES = 2_000
"""Choices of channels, likewise."""


@dataclass(frozen=True, slots=True)
class Clash:
    """Needs and feeds to be had together, with what is asked of power kits."""

    needs: tuple[Node, ...]
    sinks: tuple[Sink, ...]
    supply: Supply
    counted: frozenset[Status]
    by_load: bool = False

    def counts(self, trouble: Trouble) -> bool:
        """Tell whether a trouble lasts and is of the kind looked for: with `by_load`, only that a channel is overloaded."""
        if self.by_load and not trouble.by_load:
            return False
        return trouble.stays and trouble.finding.status in self.counted

    def without(self, other: Clash) -> Clash:
        """Leave out what another clash is made of."""
        return replace(
            self,
            needs=tuple(x for x in self.needs if x not in other.needs),
            sinks=tuple(x for x in self.sinks if x not in other.sinks),
            supply="none" if other.supply != "none" else self.supply,
        )

    def without_needs(self, needs: Collection[Node], *, supply: Supply) -> Clash:
        """Leave out some needs."""
        return replace(self, needs=tuple(x for x in self.needs if x not in needs), supply=supply)


class Judge(Inspector):
    """Judges all wirings of a build: which are sound, and if none is, why."""

    def with_parts(self, parts: Iterable[Placement]) -> Judge:
        """Give a judge of the same build with more parts."""
        more = self.scene.build.union(parts)
        net = self.bench.larger_net(self.net, self.scene.build, more)
        return Judge(self.bench, more, unknown_plugs=self.unknown_plugs, net=net)

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
            if not any(True for _ in self.troubles(wiring, whole=True)):
                yield Option(wiring.mates, wiring.feeds, self.capped(wiring))

    def best_open(self) -> tuple[Finding, ...] | None:
        """Give the unknowns of the first wiring that nothing refuses; None if every wiring is refused."""
        for wiring in wirings(self.net, self.needs, self.sinks):
            found = [trouble.finding for trouble in self.troubles(wiring, whole=True)]
            if all(finding.status is Status.UNKNOWN for finding in found):
                return (*found, *self._unknown_plugs(wiring))
        return None

    def _unknown_plugs(self, wiring: Fedness) -> Iterator[Finding]:
        for node in sorted(mated_nodes(wiring.mates)):
            cause = self.bench.presence_cause(node)
            if cause is not None:
                yield Finding(rule=NO_MATE, status=Status.UNKNOWN, present=frozenset(), causes=(cause,))

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
        loads = loads_of(feeds)
        return any(clash.counts(x) for load in loads for x in self.load_troubles_of(load, loads))

    def _lasting(self, wiring: Fedness, clash: Clash) -> Iterator[Finding]:
        for trouble in self.troubles(wiring, whole=False, supply=clash.supply):
            if clash.counts(trouble):
                yield trouble.finding

    def _smallest(self, clash: Clash) -> Clash:
        for need in clash.needs:
            if not self.net.partners(need):
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
        true_of = growth.judge.true_of(clash)
        for finding in self.troubled(clash) or growth.judge.troubled(clash) or self._unmet(clash):
            yield replace(
                finding,
                present=owners,
                repairs=repairs - growth.grown - self.scene.build,
                true_of=true_of,
            )

    def true_of(self, clash: Clash) -> TrueOf:
        """Say of which other parts a clash is as true."""
        if not self.has_any_wiring(clash):
            return "kin"
        by_load = clash.supply == "none" and self.still_has(replace(clash, by_load=True))
        return "as_heavy" if by_load else "these"

    def has_any_wiring(self, clash: Clash) -> bool:
        """Tell whether these needs and feeds can be had at all, sound or not; True also when that takes too long to see."""
        try:
            found = wirings(self.net, clash.needs, clash.sinks, may_join=self._may_join, limit=STEPS)
            return any(True for _ in found)
        except TooManyWirings:
            return True

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
        return clash.supply != "exact" or self.is_kit(placed)

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
        return any(clash.counts(x) for load in loads for x in self.load_troubles_of(load, loads))

    def new_mates(self, clash: Clash) -> frozenset[Placement]:
        """Give all that could bring a new mate for a plug that asks, or wake a silent channel on the way."""
        asking = set(self.net.askers(clash.needs, clash.sinks))
        feeding = {facing.owner for node in asking for facing in self.net.partners(node)} - {LOOM}
        if clash.supply == "exact":
            asking |= {node for node in self.net.connectors if self.is_kit(node.owner)}
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
            for trouble in self.troubles(wiring, whole=True):
                finding = trouble.finding
                if finding.status in counted:
                    return replace(
                        finding, present=owners, repairs=(repairs | finding.repairs) - self.scene.build
                    )
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
        return frozenset[Placement]().union(*(self.bench.with_tag(place, tag) for place, tag in waiting))


class _Growth:
    """Parts added to a law that would not help, and those that might."""

    def __init__(self, judge: Judge, clash: Clash) -> None:
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
