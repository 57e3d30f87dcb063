"""Mates, and what feeds what, in the CP-SAT model.

Every end that takes in sound bears the label of the channel that feeds it: its mate hands on the label of the end that feeds
that one, or is a channel itself. Backwards goes a demand, from the speakers to their channels, which tells which mates are used.
"""

from __future__ import annotations

from functools import cached_property
from itertools import combinations
from typing import Any, NamedTuple

from rules.build import Placement
from tests.oracle.reading import End, Mate, Node, Sink

Channel = tuple[Placement, str]


class Intake(NamedTuple):
    """An end that takes in what its mate hands on: a speaker's terminals, or the feeding end of a link."""

    owner: Placement | None
    end: End


class Hop(NamedTuple):
    """One way on from an intake: over a mate, to a channel or to the next intake."""

    pair: Mate
    channel: Channel | None
    onward: Intake | None


class Feeds:
    """Adds mates and feeds to a path model. Stage 0 is wired as `standing` says; without it not at all, or freely if `looking`."""

    def __init__(self, path, standing, *, looking: bool) -> None:
        self.path, self.world, self.logic = path, path.world, path.logic
        self.standing = standing
        self.wired_now = looking or standing is not None
        self.looking = looking
        self._labels: dict[Any, Any] = {}
        self._speaking: dict[Any, Any] = {}
        self._draw_mates()
        self.feeds: dict[tuple[int, Channel], dict[Sink, Any]] = {}
        for stage in range(path.last + 1):
            self._feed_speakers(stage)
            self._use_mates(stage)
        self.channels = sorted({channel for _, channel in self.feeds})

    # Mates ----------------------------------------------------------------------------------------

    @cached_property
    def pairs(self) -> list[Mate]:
        nodes = self.world.nodes(self.path.universe)
        found = (pair for pair in combinations(nodes, 2) if self.world.mate(*pair))
        return [frozenset(pair) for pair in found if self._may_meet(pair[0].owner, pair[1].owner)]

    def _may_meet(self, one: Placement | None, two: Placement | None):
        """Tell whether two owners may be there together: no build has two parts in a slot for one."""
        if one is None or two is None or {one, two} <= self.world.present:
            return True
        return self.world.slot(one) != self.world.slot(two) or self.world.capacity(self.world.slot(one)) > 1

    @cached_property
    def at(self) -> dict[Node, list[tuple[Node, Mate]]]:
        """Give for every plug the plugs that it may be mated with, and the mate."""
        found: dict[Node, list[tuple[Node, Mate]]] = {}
        for pair in self.pairs:
            for node in pair:
                found.setdefault(node, []).extend((other, pair) for other in pair - {node})
        return found

    def stands(self, stage: int):
        """Give a literal: there is a wiring at this stage (the present build may have none)."""
        return self.wired_now if stage == 0 else self.logic.any_of([self.path.started[stage], self.wired_now])

    def _draw_mates(self) -> None:
        logic, path = self.logic, self.path
        now = self.standing.mates if self.standing else frozenset()
        self.mated = {
            (pair, 0): logic.fresh() if self.looking and self._may_be(pair) else pair in now
            for pair in self.pairs
        }
        self.mated |= {(pair, stage): logic.fresh() for stage in path.stages for pair in self.pairs}
        for stage in range(path.last + 1):
            for pair in self.pairs:
                for node in pair:
                    if node.owner:
                        logic.demand(path.here[node.owner, stage], where=[self.mated[pair, stage]])
                logic.demand(self.stands(stage), where=[self.mated[pair, stage]])
                if stage:
                    self._keep_in_empty_stage(pair, stage)
            for node in self.world.nodes(path.universe):
                self._plug(node, stage)

    def _may_be(self, pair: Mate) -> bool:
        return all(node.owner is None or node.owner in self.world.present for node in pair)

    def _keep_in_empty_stage(self, pair: Mate, stage: int) -> None:
        idle = self.logic.neg(self.path.changes[stage])
        now, before = self.mated[pair, stage], self.mated[pair, stage - 1]
        self.logic.demand(now, where=[idle, before])
        self.logic.demand(before, where=[idle, now])

    def _plug(self, node: Node, stage: int) -> None:
        mine = [self.mated[pair, stage] for _, pair in self.at.get(node, [])]
        connector = self.world.connector(node)
        self.logic.demand_at_most([(1, one) for one in mine], connector.accepts)
        if node.owner and connector.needed:
            here = self.path.here[node.owner, stage]
            self.logic.demand(self.logic.any_of(mine), where=[here, self.stands(stage)])

    # Labels ---------------------------------------------------------------------------------------

    @cached_property
    def sinks(self) -> dict[Sink, Intake]:
        """Give every side of every speaker, with its terminals."""
        found = {}
        for one in self.path.universe:
            for sink in self.world.sinks(one):
                paired = self.world.part(one).connectors["terminals"].paired
                found[sink] = Intake(one, End("terminals", "drive", sink.side if paired else None))
        return found

    @cached_property
    def hops(self) -> dict[Intake, list[Hop]]:
        """Give the ways on from every intake that a speaker may hang on; feeders come before what they feed."""
        found: dict[Intake, list[Hop]] = {}
        for intake in self.sinks.values():
            self._follow(intake, found, ())
        return found

    def _follow(self, intake: Intake, found: dict[Intake, list[Hop]], behind: tuple[Intake, ...]) -> None:
        assert intake not in behind, "sound may go round in a circle: this model does not tell that apart"
        if intake in found:
            return
        hops = list(self._onward(intake))
        for hop in hops:
            if hop.onward is not None:
                self._follow(hop.onward, found, (*behind, intake))
        found[intake] = hops

    def _onward(self, intake: Intake):
        for there, pair in self.at.get(Node(intake.owner, intake.end.connector), []):
            arrived = End(there.connector, intake.end.lane, intake.end.side)
            channel = self._ends_at(there.owner, arrived)
            link = self.world.links(there.owner).get(arrived)
            if channel is not None:
                yield Hop(pair, channel, None)
            elif link is not None:
                yield Hop(pair, None, Intake(there.owner, link))

    def _ends_at(self, owner: Placement | None, end: End) -> Channel | None:
        if owner is None:
            return None
        output = f"{end.connector}.{end.lane}"
        return next(((owner, x.id) for x in self.world.part(owner).channels if x.output == output), None)

    def _label(self, intake: Intake, stage: int) -> dict[Channel, Any]:
        """Give for every channel that may feed an intake the literal that it does."""
        if (intake, stage) not in self._labels:
            found: dict[Channel, list[Any]] = {}
            for pair, channel, onward in self.hops[intake]:
                heard = self._label(onward, stage) if onward else {}
                if channel is not None:
                    heard = {channel: self._speaks(channel, stage)}
                for one, literal in heard.items():
                    found.setdefault(one, []).append(self.logic.all_of([self.mated[pair, stage], literal]))
            self._labels[intake, stage] = {one: self.logic.any_of(all_) for one, all_ in found.items()}
        label: dict[Channel, Any] = self._labels[intake, stage]
        return label

    def _speaks(self, channel: Channel, stage: int):
        needs = self.channel(channel).needs
        if needs is None:
            return True
        key = channel[0].place, needs, stage
        if key not in self._speaking:
            opening = [
                one
                for one in self.path.universe
                if one.place == channel[0].place and needs in self.world.part(one).tags
            ]
            self._speaking[key] = self.logic.any_of([self.path.here[one, stage] for one in opening])
        return self._speaking[key]

    def _feed_speakers(self, stage: int) -> None:
        for sink, intake in self.sinks.items():
            label = self._label(intake, stage)
            here = self.path.here[sink.speaker, stage]
            self.logic.demand(self.logic.any_of(label.values()), where=[here, self.stands(stage)])
            for channel, literal in label.items():
                self.feeds.setdefault((stage, channel), {})[sink] = literal

    # Use ------------------------------------------------------------------------------------------

    def _use_mates(self, stage: int) -> None:
        """Let nothing be mated that no needed plug and no feed uses."""
        asked: dict[Intake, list[Any]] = {intake: [] for intake in self.hops}
        for sink, intake in self.sinks.items():
            asked[intake].append(self.path.here[sink.speaker, stage])
        used: dict[Mate, list[Any]] = {pair: [] for pair in self.pairs}
        for intake in reversed(self.hops):
            asks = self.logic.any_of(asked[intake])
            for pair, _, onward in self.hops[intake]:
                through = self.logic.all_of([asks, self.mated[pair, stage]])
                used[pair].append(through)
                if onward is not None:
                    asked[onward].append(through)
        for pair in self.pairs:
            if not any(node.owner and self.world.connector(node).needed for node in pair):
                self.logic.demand(self.logic.any_of(used[pair]), where=[self.mated[pair, stage]])

    # What others ask ------------------------------------------------------------------------------

    def channel(self, channel: Channel) -> Any:
        return next(one for one in self.world.part(channel[0]).channels if one.id == channel[1])

    def sinks_of(self, channel: Channel, stage: int) -> dict[Sink, Any]:
        return self.feeds.get((stage, channel), {})

    def amplifies(self, channel: Channel):
        return self.world.part(channel[0]).kind == "amplifier"
