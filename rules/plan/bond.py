"""What amplifiers do in every wiring in which some parts take part, whatever else is there but for a few others."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property, partial

from rules.bench import Bench
from rules.build import Build, Placement
from rules.net import LOOM, Fed, Net, Node, Sink
from rules.plan.feed_law import mateable_with, wakers
from rules.troubles import Inspector, loads_of
from rules.verdict import Status
from rules.wiring import Fedness, Option, TooManyWirings, wirings
from rules.wish import added_loads, stays_too_strong

STEPS = 1_000
"""Mates tried in one look before a bond is left narrower, or is not found; what is found stays true."""


@dataclass(frozen=True, slots=True)
class Bond:
    """With all of `present` and none of `absent`, an amplifier feeds a pair in every wiring; without a pair, it needs a preset.

    It is so in every wiring that no known fact refuses, so missing facts do not matter.
    """

    amplifier: Placement
    pair: Placement | None
    present: Build
    absent: Build

    def holds_in(self, build: Build) -> bool:
        """Tell whether a build has what it takes."""
        return self.present <= build and self.absent.isdisjoint(build)


Feeds = Mapping[Sink, Fed]

IsSo = Callable[[Feeds, Build], bool]
"""Tells whether something is so where this is fed, whichever of some other speakers are fed besides."""


class Binder:
    """Finds bonds among the parts that a search may hold.

    Args:
        candidates: Those parts. What is not among them, and might open another way, is absent where a bond holds.
    """

    def __init__(self, bench: Bench, candidates: Build) -> None:
        self.bench = bench
        self.wired = frozenset(x for x in candidates if bench.is_wired(x))
        self._added: dict[Build, frozenset[Fraction]] = {}

    def feeding(
        self, build: Build, options: Sequence[Option], amplifier: Placement, pair: Placement
    ) -> Bond | None:
        """Give why an amplifier feeds a pair in a build; None if it does not in every wiring, or nothing simple makes it so.

        Args:
            options: The sound wirings of the build.
        """
        is_so = partial(_is_fed, amplifier, pair)
        if not options or not all(is_so(x.feeds, frozenset()) for x in options):
            return None
        present = _on_the_way(options[0], pair) | {amplifier}
        look = _Look(self, build, is_so)
        return look.bond(amplifier, pair, present) if look.is_so(present) else None

    def needing(self, build: Build, options: Sequence[Option], amplifier: Placement) -> Bond | None:
        """Give why an amplifier needs a preset in a build, likewise."""
        if self.bench.is_chained(amplifier):
            return Bond(amplifier, None, frozenset({amplifier}), frozenset())
        if not options or not all(amplifier in x.capped for x in options):
            return None
        look = _Look(self, build, partial(self._is_too_strong, amplifier), by_load=True)
        fed = {sink.speaker for sink, source in options[0].feeds.items() if source.owner == amplifier}
        others = {sink.speaker for sink in options[0].feeds} - fed
        pairs = [_on_the_way(options[0], x) for x in (*sorted(fed), *sorted(others))]
        present = look.fewest(frozenset({amplifier}), pairs)
        return None if present is None else look.bond(amplifier, None, present)

    def _is_too_strong(self, amplifier: Placement, feeds: Feeds, beside: Build) -> bool:
        if beside not in self._added:
            self._added[beside] = added_loads(self.bench, beside)
        return stays_too_strong(self.bench, feeds, amplifier, self._added[beside])

    @cached_property
    def net(self) -> Net:
        """All plugs at once, of more parts than there is room for."""
        return self.bench.net(self.wired, unknown_plugs=True)

    @cached_property
    def inspector(self) -> Inspector:
        """Tells which loads are refused."""
        return Inspector(self.bench, self.wired, unknown_plugs=True, net=self.net)


def _is_fed(amplifier: Placement, pair: Placement, feeds: Feeds, _: Build) -> bool:
    owners = {fed.owner for sink, fed in feeds.items() if sink.speaker == pair}
    return owners == {amplifier}


def _on_the_way(option: Option, pair: Placement) -> Build:
    """Give a pair, and what leads to it in a wiring."""
    fed = (source for sink, source in option.feeds.items() if sink.speaker == pair)
    return frozenset({pair, *(node.owner for x in fed for mated in x.mates for node in mated)}) - {LOOM}


class _Look:
    """Looks at the wirings of a few parts, first beside those of a build, then beside all that may be held.

    What is so in all of them is so in every wiring with these parts: that one mates and feeds them in one of these ways.

    Args:
        by_load: Leave out wirings with a load that is refused whatever else is there.
    """

    def __init__(self, binder: Binder, build: Build, is_so: IsSo, *, by_load: bool = False) -> None:
        self.binder, self.bench = binder, binder.bench
        self.build, self._is_so, self.by_load = build, is_so, by_load
        self.net = self.bench.net(build, unknown_plugs=True)

    def is_so(self, present: Build) -> bool:
        """Tell whether it is so beside the other parts of the build."""
        try:
            return self._first_not(self.net, present, frozenset(), self._beside(present, self.build)) is None
        except TooManyWirings:
            return False

    def fewest(self, seed: Build, blocks: Sequence[Build]) -> Build | None:
        """Give parts that make it so: the seed with one block, or with as few more as will do; None if even all do not."""
        for block in blocks:
            if self.is_so(seed | block):
                return seed | block
        kept = list(blocks)
        if not self.is_so(seed.union(*kept)):
            return None
        for block in blocks:
            fewer = [x for x in kept if x != block]
            kept = fewer if self.is_so(seed.union(*fewer)) else kept
        return seed.union(*kept)

    def bond(self, amplifier: Placement, pair: Placement | None, present: Build) -> Bond | None:
        """Give the bond of these parts, with little absent; None if it does not hold."""
        try:
            absent, seen, net = self._absent(present), self.binder.wired, self.binder.net
        except TooManyWirings:
            absent, seen, net = self._unlike(present), self.build, self.net
        if absent is None:
            return None
        # What has the plugs of a part that is there has no room beside it.
        kin = frozenset[Placement]().union(*map(self.bench.kin, present))
        return Bond(amplifier, pair, present, (absent | self._unseen(present, net) - seen) - kin)

    def _absent(self, present: Build) -> Build | None:
        """Give what makes it otherwise among all that may be held; None if parts of the build do.

        Raises: `TooManyWirings`.
        """
        absent = self._unlike(present)
        beside = self._beside(present, self.binder.wired - absent)
        while (otherwise := self._first_not(self.binder.net, present, absent, beside)) is not None:
            joined = {node.owner for mated in otherwise.mates for node in mated} - self.build - {LOOM}
            if not joined:
                return None
            absent |= {min(joined)}
        return absent

    def _unlike(self, present: Build) -> Build:
        """Give the speakers beside which it would be otherwise even as the build is wired."""
        beside, unlike = self._beside(present, self.build), frozenset[Placement]()
        for x in sorted(self._beside(present, self.binder.wired) - self.build):
            if self._first_not(self.net, present, frozenset(), beside | {x}) is None:
                beside |= {x}
            else:
                unlike |= {x}
        return unlike

    def _unseen(self, present: Build, net: Net) -> Build:
        """Give all that could bring another way to mate or feed these parts, or another load, be it held or not."""
        bench, asked = self.bench, self._asked(net, present)
        speakers = self._beside(present, bench.universe | bench.present) - self.binder.wired
        could_mate = mateable_with(bench, net, net.askers(*asked))
        return could_mate | wakers(bench, frozenset(net.wires) - {LOOM}) | speakers

    def _beside(self, present: Build, among: Build) -> Build:
        """Give the speakers that may be there besides these parts; none where power does not matter."""
        return frozenset(self._speakers_beside(present, among) if self.by_load else ())

    def _speakers_beside(self, present: Build, among: Build) -> Iterator[Placement]:
        taken = {self.bench.slot(x) for x in present if self.bench.capacity(*self.bench.slot(x)) == 1}
        for x in among - present:
            if self.bench.tables.wires[x.part].sinks and self.bench.slot(x) not in taken:
                yield x

    def _first_not(self, net: Net, present: Build, absent: Build, beside: Build) -> Fedness | None:
        """Give the first wiring of these parts in which it is otherwise.

        Raises: `TooManyWirings`.
        """
        found = wirings(
            net,
            *self._asked(net, present),
            may_join=partial(self._may_join, absent),
            is_hopeless=self._is_hopeless,
            limit=STEPS,
        )
        return next((x for x in found if not self._is_so(x.feeds, beside)), None)

    def _asked(self, net: Net, present: Build) -> tuple[list[Node], list[Sink]]:
        """Give the sides to feed, and the needs that one of these parts or the bike may meet: others say little, and take long."""
        near = present | {LOOM}
        needs = [
            x for x in net.needs() if x.owner in present and any(y.owner in near for y in net.partners(x))
        ]
        return needs, [x for x in net.sinks() if x.speaker in present]

    def _may_join(self, absent: Build, owner: Placement, used: Build) -> bool:
        if owner == LOOM:
            return True
        held = sum(1 for x in used - {LOOM} if self.bench.slot(x) == self.bench.slot(owner))
        return owner not in absent and held < self.bench.capacity(*self.bench.slot(owner))

    def _is_hopeless(self, feeds: dict[Sink, Fed]) -> bool:
        if not self.by_load:
            return False
        loads = loads_of(feeds)
        troubles = (x for load in loads for x in self.binder.inspector.load_troubles_of(load, loads))
        return any(x.stays and x.finding.status is Status.REFUSED for x in troubles)
