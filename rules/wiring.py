"""Every way to mate the plugs of a build so that what is needed is mated and every speaker is fed."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass

from rules.net import Fed, Net, Node, Open, Sink, Wiring, mate

Mated = dict[Node, tuple[Node, ...]]


@dataclass(frozen=True, slots=True)
class Fedness:
    """One wiring with the channel that feeds each speaker side."""

    mates: Wiring
    feeds: dict[Sink, Fed]


def wirings(net: Net, needs: Collection[Node], sinks: Collection[Sink]) -> Iterator[Fedness]:
    """Give each way to mate the needs and feed the sinks, with no mate that neither uses, in a fixed order.

    The search takes the first thing still open and tries each plug that could close it, so that every wiring comes once.
    """
    yield from _extend(net, sorted(needs), sorted(sinks), {}, frozenset())


def _extend(net: Net, needs: list[Node], sinks: list[Sink], mated: Mated, closed: Wiring) -> Iterator[Fedness]:
    at = next((node for node in needs if node not in mated), None)
    feeds: dict[Sink, Fed] = {}
    if at is None:
        for sink in sinks:
            found = net.trace(sink, mated)
            if isinstance(found, Open):
                if found.at is None:
                    return
                at = found.at
                break
            feeds[sink] = found
    if at is None:
        yield Fedness(closed, feeds)
        return
    for facing in net.partners[at]:
        if _has_room(net, facing, mated):
            yield from _extend(net, needs, sinks, _with(mated, at, facing), closed | {mate(at, facing)})


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
