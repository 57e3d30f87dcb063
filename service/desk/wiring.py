"""How a bike is plugged together after a visit: every plug with what it goes into, numbered alike in picture, table and papers."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass

from rules.answer import Change, ChangeKind, Feed, Visit
from rules.bench import Bench
from rules.catalog.catalog import Catalog
from rules.catalog.connector import Connector
from rules.net import LOOM, Mate, Node, Wiring

BIKE_WIRES = "the bike's wiring"

NEW: frozenset[ChangeKind] = frozenset({"connected", "inserted", "re-plugged", "rewired"})

WORDS: Mapping[ChangeKind, str] = {
    "kept": "stays as it is",
    "connected": "new",
    "released": "comes apart",
    "inserted": "new, goes in between",
    "extracted": "goes back together",
    "re-plugged": "moves here",
    "rewired": "rewired",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlugEnd:
    """One plug or socket: whose it is, what it is called there, and where it lies."""

    owner: str
    plug: str
    where: str

    def __str__(self) -> str:
        return f"{self.owner}, {self.plug}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """Two plugs that are together after the visit, or were until then."""

    number: int
    one: PlugEnd
    other: PlugEnd
    shape: str
    kind: ChangeKind
    mate: Mate

    @property
    def is_new(self) -> bool:
        """Tell whether a hand is laid on it at this visit."""
        return self.kind in NEW

    @property
    def says(self) -> str:
        """Say what happens to it."""
        return WORDS[self.kind]


@dataclass(frozen=True, slots=True, kw_only=True)
class Apart:
    """Two plugs that come apart at a visit."""

    one: PlugEnd
    other: PlugEnd


@dataclass(frozen=True, slots=True, kw_only=True)
class FedSide:
    """One speaker side in words: the zone, the side, and the channel that feeds it."""

    zone: str
    side: str
    speaker: str
    source: str
    channel: str
    load_ohm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Plugged:
    """All joints of a bike after a visit."""

    joints: tuple[Joint, ...]
    apart: tuple[Apart, ...]
    feeds: tuple[FedSide, ...]

    @property
    def new(self) -> tuple[Joint, ...]:
        """Give what this visit adds."""
        return tuple(x for x in self.joints if x.is_new)


def plugged(visit: Visit, bench: Bench) -> Plugged:
    """Tell how the bike is plugged together after a visit.

    Nobody looks at the plugs before something is done to a bike: there are no joints then.
    """
    return _Teller(bench).tell(visit.wiring or frozenset(), visit.changes, visit.feeds)


def plugged_now(wiring: Wiring | None, bench: Bench) -> Plugged:
    """Tell how the bike is plugged together as it stands."""
    return _Teller(bench).tell(wiring or frozenset(), (), ())


def short_name(name: str) -> str:
    """Give the first part of a part's name, which tells it from the others on one bike."""
    return name.split(",", maxsplit=1)[0]


def words_of(connector: str) -> str:
    """Write a connector's or channel's id as words.

    Example:
        >>> words_of("pair1_left")
        'pair 1 left'
    """
    return re.sub(r"(?<=[a-z])(?=[0-9])", " ", connector.replace("_", " ").replace("-", " "))


def side_by_side(channels: Iterable[str]) -> str:
    """Name channels that are set alike.

    Example:
        >>> side_by_side(["pair1_left", "pair1_right"]), side_by_side(["bass"])
        ('pair 1, left and right', 'bass')
    """
    named = list(dict.fromkeys(words_of(x) for x in channels))
    stems = {x.removesuffix(" left").removesuffix(" right") for x in named}
    both = len(named) == 2 and len(stems) == 1  # noqa: PLR2004 -- a left and a right one
    return f"{stems.pop()}, left and right" if both else " and ".join(named)


@dataclass(frozen=True, slots=True)
class _Teller:
    bench: Bench

    @property
    def catalog(self) -> Catalog:
        return self.bench.tables.catalog

    def tell(self, wiring: Wiring, changes: tuple[Change, ...], feeds: tuple[Feed, ...]) -> Plugged:
        kinds = {(x.first, x.second): x.kind for x in changes}
        mates = sorted(wiring, key=self._in_order)
        joints = tuple(self._joint(number, x, kinds) for number, x in enumerate(mates, 1))
        apart = tuple(
            Apart(one=self.end(Node.named(x.first)), other=self.end(Node.named(x.second)))
            for x in changes
            if x.kind == "released"
        )
        return Plugged(joints=joints, apart=apart, feeds=tuple(self._fed(feeds)))

    def _in_order(self, joined: Mate) -> tuple[int, str, str]:
        places = list(self.catalog.places)
        spots = [places.index(x) for node in joined if (x := self._place(node)) in places]
        return min(spots, default=len(places)), str(joined[0]), str(joined[1])

    def _joint(self, number: int, joined: Mate, kinds: Mapping[tuple[str, str], ChangeKind]) -> Joint:
        one, other = joined
        kind = kinds.get((str(one), str(other))) or kinds.get((str(other), str(one))) or "kept"
        shape = self.catalog.connector_types[self.catalog.contact_maps[self._connector(one).map].type].name
        return Joint(
            number=number, one=self.end(one), other=self.end(other), shape=shape, kind=kind, mate=joined
        )

    def end(self, node: Node) -> PlugEnd:
        connector = self._connector(node)
        place = self.catalog.places.get(self._place(node))
        owner = BIKE_WIRES if node.owner == LOOM else short_name(self.catalog.parts[node.owner.part].name)
        plug = words_of(node.connector) + (f" ({connector.name})" if connector.name else "")
        return PlugEnd(owner=owner, plug=plug, where=place.name if place else "")

    def _connector(self, node: Node) -> Connector:
        if node.owner == LOOM:
            return self.bench.loom.connectors[node.connector]
        return self.bench.tables.wires[node.owner.part].connectors[node.connector]

    def _place(self, node: Node) -> str:
        return self._connector(node).place or node.owner.place

    def _fed(self, feeds: tuple[Feed, ...]) -> Iterator[FedSide]:
        for feed in feeds:
            place = self.catalog.places[feed.place]
            yield FedSide(
                zone=place.zone or place.name,
                side=feed.side if place.pair else "",
                speaker=short_name(self.catalog.parts[feed.speaker].name),
                source=short_name(self.catalog.parts[feed.source.part].name),
                channel=words_of(feed.channel),
                load_ohm=feed.load_ohm,
            )
