"""Every way to mate the plugs of a build so that what is needed is mated and every speaker is fed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass

from rules.build import Placement
from rules.net import Fed, Net, Node, Sink, Wiring, mate

Mated = dict[Node, tuple[Node, ...]]


@dataclass(frozen=True, slots=True)
class Fedness:
    """One wiring with the channel that feeds each speaker side."""

    mates: Wiring
    feeds: dict[Sink, Fed]


Used = frozenset[Placement]
"""Owners that take part in a wiring."""

MayJoin = Callable[[Placement, Used], bool]
"""Tells whether an owner may take part beside those that do: where a net holds more parts than its slots."""


def _anyone(_: Placement, __: Used) -> bool:
    return True


Feeds = dict[Sink, Fed]

IsHopeless = Callable[[Feeds], bool]
"""Tells whether feeds that are closed already have a fault that no further mate can mend."""


def _nothing_is(_: Feeds) -> bool:
    return False


class TooManyWirings(Exception):  # noqa: N818 - not an error: the caller does without
    """There are more wirings than are worth looking at."""


def wirings(
    net: Net,
    needs: Collection[Node],
    sinks: Collection[Sink],
    *,
    may_join: MayJoin = _anyone,
    is_hopeless: IsHopeless = _nothing_is,
    limit: int | None = None,
) -> Iterator[Fedness]:
    """Give each way to mate the needs and feed the sinks, with no mate that neither uses, in a fixed order.

    The search takes the first thing still open and tries each plug that could close it, so that every wiring comes once.

    Args:
        is_hopeless: Wirings whose feeds it refuses are left out, with all that would follow from them.
        limit: Steps after which the search gives up.

    Raises: `TooManyWirings` at the limit.
    """
    search = _Search(net, sorted(needs), sorted(sinks), may_join, is_hopeless, limit)
    used = frozenset({node.owner for node in needs} | {sink.speaker for sink in sinks})
    yield from search.need(0, {}, frozenset(), used)


@dataclass(slots=True)
class _Search:
    net: Net
    needs: list[Node]
    sinks: list[Sink]
    may_join: MayJoin
    is_hopeless: IsHopeless
    limit: int | None
    steps: int = 0

    def need(self, index: int, mated: Mated, closed: Wiring, used: Used) -> Iterator[Fedness]:
        """Mate the needs from this one on, then feed the sinks."""
        while index < len(self.needs) and self.needs[index] in mated:
            index += 1
        if index == len(self.needs):
            yield from self.sink(0, {}, mated, closed, used)
            return
        for state in self._mates(self.needs[index], mated, closed, used):
            yield from self.need(index + 1, *state)

    def sink(self, index: int, feeds: Feeds, mated: Mated, closed: Wiring, used: Used) -> Iterator[Fedness]:
        """Feed the sinks from this one on."""
        if index == len(self.sinks):
            yield Fedness(closed, feeds)
            return
        found = self.net.trace(self.sinks[index], mated)
        if isinstance(found, Fed):
            more = {**feeds, self.sinks[index]: found}
            if not self.is_hopeless(more):
                yield from self.sink(index + 1, more, mated, closed, used)
        elif found.at is not None:
            for state in self._mates(found.at, mated, closed, used):
                yield from self.sink(index, feeds, *state)

    def _mates(
        self, at: Node, mated: Mated, closed: Wiring, used: Used
    ) -> Iterator[tuple[Mated, Wiring, Used]]:
        """Mate one plug in every way that is left."""
        for facing in self.net.partners(at):
            self.steps += 1
            if self.limit is not None and self.steps > self.limit:
                raise TooManyWirings
            joins = facing.owner in used or self.may_join(facing.owner, used)
            if joins and _has_room(self.net, facing, mated):
                yield _with(mated, at, facing), closed | {mate(at, facing)}, used | {facing.owner}


def _has_room(net: Net, node: Node, mated: Mated) -> bool:
    return len(mated.get(node, ())) < net.connectors[node].accepts


def _with(mated: Mated, one: Node, other: Node) -> Mated:
    return {**mated, one: (*mated.get(one, ()), other), other: (*mated.get(other, ()), one)}


def mated_nodes(wiring: Wiring) -> Mated:
    """Map each node of a wiring to what it is mated with."""
    mated: Mated = {}
    for one, other in sorted(wiring):
        mated = _with(mated, one, other)
    return mated


@dataclass(frozen=True, slots=True)
class Option:
    """A sound wiring: its mates, the feed of each speaker side, and the amplifiers that need a preset that caps their power."""

    mates: Wiring
    feeds: dict[Sink, Fed]
    capped: frozenset[Placement]
