"""Every way to mate the plugs of a build so that what is needed is mated and every speaker is fed."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass, field

from rules.build import Placement
from rules.net import Fed, Mate, Net, Node, Open, Sink, Wiring, mate

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
    yield from search.ways(0, {}, None, used)


@dataclass(slots=True)
class _Search:
    """One search; it mates plugs, looks further, and parts them again."""

    net: Net
    needs: list[Node]
    sinks: list[Sink]
    may_join: MayJoin
    is_hopeless: IsHopeless
    limit: int | None
    steps: int = 0
    mated: Mated = field(default_factory=dict)
    mates: list[Mate] = field(default_factory=list)

    def ways(self, need: int, feeds: Feeds, ended: Open | None, used: Used) -> Iterator[Fedness]:
        """Mate the needs from this one on, then feed the sinks that are not fed yet; the first of these has ended somewhere."""
        while need < len(self.needs) and self.needs[need] in self.mated:
            need += 1
        if need < len(self.needs):
            yield from self._mate(self.needs[need], need, feeds, ended, used)
            return
        while len(feeds) < len(self.sinks):
            sink = self.sinks[len(feeds)]
            found = self.net.trace(sink, self.mated, ended)
            if isinstance(found, Open):
                if found.at is not None:
                    yield from self._mate(found.at, need, feeds, found, used)
                return
            feeds, ended = {**feeds, sink: found}, None
            if self.is_hopeless(feeds):
                return
        yield Fedness(frozenset(self.mates), feeds)

    def _mate(self, at: Node, need: int, feeds: Feeds, ended: Open | None, used: Used) -> Iterator[Fedness]:
        """Mate one plug in every way that is left, and go on from there."""
        for facing in self.net.partners(at):
            self.steps += 1
            if self.limit is not None and self.steps > self.limit:
                raise TooManyWirings
            joins = facing.owner in used or self.may_join(facing.owner, used)
            held = self.mated.get(facing, ())
            if joins and len(held) < self.net.connectors[facing].accepts:
                self.mated[at], self.mated[facing] = (facing,), (*held, at)
                self.mates.append(mate(at, facing))
                joined = used if facing.owner in used else used | {facing.owner}
                yield from self.ways(need, feeds, ended, joined)
                self.mates.pop()
                del self.mated[at]
                self._set_back(facing, held)

    def _set_back(self, node: Node, held: tuple[Node, ...]) -> None:
        if held:
            self.mated[node] = held
        else:
            del self.mated[node]


def mated_nodes(wiring: Wiring) -> Mated:
    """Map each node of a wiring to what it is mated with."""
    mated: Mated = {}
    for one, other in sorted(wiring):
        mated[one] = (*mated.get(one, ()), other)
        mated[other] = (*mated.get(other, ()), one)
    return mated


@dataclass(frozen=True, slots=True)
class Option:
    """A sound wiring: its mates, the feed of each speaker side, and the amplifiers that need a preset that caps their power."""

    mates: Wiring
    feeds: dict[Sink, Fed]
    capped: frozenset[Placement]
