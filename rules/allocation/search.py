"""The search for the best allocation: fewest zones that share first, then how well all are served. Exact."""

from __future__ import annotations

from collections.abc import Iterator

from rules.allocation.answer import Allocation, Limit, SideFed
from rules.allocation.board import Board, Outputs, Used, rating
from rules.allocation.group import NOTHING, Group, Worth, judge, load_on, partitions, sharing
from rules.allocation.question import Kept, Source, ZoneLoad
from rules.electrical.load import exact, power_share, rated_power


def search(
    sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept, lifted: Limit | None = None
) -> Allocation | None:
    """Give the best legal allocation, or None. `kept` may name zones that are not asked for; they are passed over."""
    board = Board(sources, kept, lifted)
    judged: dict[object, Worth | None] = {}
    best: tuple[Worth, tuple[Group, ...], _Filling] | None = None
    for groups in sorted(partitions(zones), key=sharing):
        if best is not None and sharing(groups) > sharing(best[1]):
            break
        filling = _Filling(board, groups, judged)
        worth = filling.worth(0, 0)
        if worth is not None and (best is None or worth.key < best[0].key):
            best = worth, groups, filling
    return None if best is None else _told(board, zones, best[1], best[2].ways())


class _Filling:
    """Gives each group its channels, one after the other, and remembers how well what is left can be served."""

    def __init__(self, board: Board, groups: tuple[Group, ...], judged: dict[object, Worth | None]) -> None:
        self._board = board
        self._judged = judged
        self._groups = groups
        self._ways = [self._ways_of(group) for group in groups]
        self._known: dict[object, Worth | None] = {}

    def worth(self, at: int, used: Used) -> Worth | None:
        """Tell how well the groups from this one on can be served at best; None if they cannot be.

        Channels that are alike may be exchanged, so this is worked out once for equal remainders.
        """
        if at == len(self._groups):
            return NOTHING
        key = (at, self._board.left(used))
        if key not in self._known:
            self._known[key] = min(
                (worth for worth, _ in self._tried(at, used)), key=lambda worth: worth.key, default=None
            )
        return self._known[key]

    def ways(self) -> tuple[Outputs, ...]:
        """Give the first channels, group by group, that serve all as well as can be."""
        used, chosen = 0, []
        for at in range(len(self._groups)):
            best = self.worth(at, used)
            way = next(way for worth, way in self._tried(at, used) if worth == best)
            used = self._board.after(used, way) or 0
            chosen.append(way)
        return tuple(chosen)

    def _tried(self, at: int, used: Used) -> Iterator[tuple[Worth, Outputs]]:
        """Give the channels that one group may take now, with the worth of it and of all that follow."""
        seen: set[object] = set()
        for worth, way in self._ways[at]:
            after = self._board.after(used, way)
            same = (worth, self._board.left(after)) if after is not None else None
            if after is not None and same not in seen:
                seen.add(same)
                rest = self.worth(at + 1, after)
                if rest is not None:
                    yield worth.with_(rest), way

    def _ways_of(self, group: Group) -> list[tuple[Worth, Outputs]]:
        allowed = [set(self._board.ways(zone)) for zone in group[1:]]
        ways = [way for way in self._board.ways(group[0]) if all(way in others for others in allowed)]
        return [(worth, way) for way in ways if (worth := self._judge(group, way)) is not None]

    def _judge(self, group: Group, way: Outputs) -> Worth | None:
        """Judge a group on its channels: alike, unless that limit is lifted; then the worse of them counts."""
        worths = [self._judged_on(group, i) for i in way]
        known = [worth for worth in worths if worth is not None]
        return max(known, key=lambda worth: worth.key) if len(known) == len(worths) else None

    def _judged_on(self, group: Group, i: int) -> Worth | None:
        source, output = self._board.channels[i]
        key = (group, source.caps, rating(output))
        if key not in self._judged:
            self._judged[key] = judge(group, source, output, self._board.lifted)
        return self._judged[key]


def _told(
    board: Board, zones: tuple[ZoneLoad, ...], groups: tuple[Group, ...], ways: tuple[Outputs, ...]
) -> Allocation:
    way_of = {zone.name: (group, way) for group, way in zip(groups, ways, strict=True) for zone in group}
    return Allocation(
        feeds=tuple(fed for zone in zones for fed in _feeds(board, zone, *way_of[zone.name])),
        shared=tuple(tuple(zone.name for zone in group) for group in groups if len(group) > 1),
    )


def _feeds(board: Board, zone: ZoneLoad, group: Group, way: Outputs) -> list[SideFed]:
    ohms = load_on(group)
    feeds = []
    for side, i in zip(zone.sides, way, strict=True):
        source, output = board.channels[i]
        # Only where a limit is lifted is there no rated figure, and then nobody is told.
        watts = rated_power(output.watts, ohms) or 0.0
        share = power_share(watts, ohms, zone.impedance_ohm)
        feeds.append(
            SideFed(
                zone=zone.name,
                side=side,
                source=source.name,
                output=output.id,
                load_ohm=float(ohms),
                channel_w=watts,
                share_w=float(share),
                margin=float(exact(zone.rms_w) / share) if share else 0.0,
            )
        )
    return feeds
