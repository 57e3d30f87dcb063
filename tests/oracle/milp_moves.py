"""Re-plugging, rewiring and presets in the mixed-integer model."""

from __future__ import annotations

from itertools import product
from typing import Any

from rules.build import Placement
from tests.oracle.milp_limits import Limits
from tests.oracle.milp_model import Frame
from tests.oracle.milp_wires import Channel, Side, Wires
from tests.oracle.reading import Mate, Node


class Moves:
    """Adds what is forbidden between two wirings; `replugged[placement, stage]` is at least 1 where a plug of it moves."""

    def __init__(self, frame: Frame, wires: Wires) -> None:
        self.frame, self.world, self.wires = frame, frame.world, wires
        self.amplifiers = [one for one in frame.placements if self.world.part(one).kind == "amplifier"]
        self._returned: dict[tuple[Side, int], Any] = {}
        self._inserts: dict[tuple[Mate, int], Any] = {}
        self.replugged: dict[tuple[Placement, int], Any] = {}
        for stage in frame.stages:
            self._cuts_and_pulls(stage)
            for side in wires.sides:
                self._keep_channels(side, stage)
                self._move_once(side, stage)
            for one in self._priced_replugs():
                self._replug(one, stage)

    def _cuts_and_pulls(self, stage: int) -> None:
        for one in self.frame.placements:
            part = self.world.part(one)
            if one.part in self.frame.question.allowed_rewiring:
                continue
            if part.rewires:
                self.frame.demand(self.frame.add(one, stage) <= 0)
            if part.kind in {"harness", "power_kit"} and one not in self.world.stock:
                self.frame.demand(self.frame.remove(one, stage) <= 0)

    # Channels -------------------------------------------------------------------------------------

    def _keep_channels(self, side: Side, stage: int) -> None:
        frame, now = self.frame, self.wires.into[side, stage]
        for channel, before in self.wires.into.get((side, stage - 1), {}).items():
            if not self.wires.amplifies(channel):
                continue
            others = frame.sum(amount for other, amount in now.items() if other != channel)
            frame.demand(before + frame.here(channel[0], stage) + others <= 2)
            for successor in self._rivals(channel[0]):
                self._hand_over(side, stage, channel, before, successor)

    def _rivals(self, amplifier: Placement) -> list[Placement]:
        slot = self.world.slot(amplifier)
        return [one for one in self.amplifiers if one != amplifier and self.world.slot(one) == slot]

    def _hand_over(self, side: Side, stage: int, channel: Channel, before, successor: Placement) -> None:
        """Where another amplifier comes into the slot, let its channel of the same id take over, and no other."""
        frame, now = self.frame, self.wires.into[side, stage]
        heirs = {(one, channel[1]): one for one in self._rivals(channel[0])}
        handed = before + frame.remove(channel[0], stage) + frame.add(successor, stage)
        others = frame.sum(amount for other, amount in now.items() if other not in heirs)
        frame.demand(handed + others <= 3)
        for heir, one in heirs.items():
            if heir in now:
                frame.demand(now[heir] - frame.add(one, stage) <= 3 - handed)

    def _move_once(self, side: Side, stage: int) -> None:
        """Let no zone side go to an amplifier once it has gone from one to another source."""
        frame = self.frame
        self._returned[side, stage] = returned = frame.share()
        if stage > 1:
            frame.demand(returned >= self._returned[side, stage - 1])
            frame.demand(self._fed(side, stage, amplified=True) + self._returned[side, stage - 1] <= 1)
        was, now = self._fed(side, stage - 1, amplified=True), self._fed(side, stage, amplified=False)
        frame.demand(returned >= was + now - 1)

    def _fed(self, side: Side, stage: int, *, amplified: bool):
        feeds = self.wires.into.get((side, stage), {})
        return self.frame.sum(
            amount for channel, amount in feeds.items() if self.wires.amplifies(channel) is amplified
        )

    # Re-plugging ----------------------------------------------------------------------------------

    def _priced_replugs(self) -> list[Placement]:
        rules = [rule for rule in self.world.rules("operation") if rule.action == "replug"]
        return [
            one
            for one in self.frame.placements
            if any(self.world.selects_placed(rule.subject, one) for rule in rules)
        ]

    def _replug(self, one: Placement, stage: int) -> None:
        frame, mated = self.frame, self.wires.mated
        self.replugged[one, stage] = moved = frame.share()
        stays = frame.all_of([frame.here(one, stage - 1), frame.here(one, stage)])
        for mate in self.wires.mates:
            if any(node.owner == one for node in mate):
                new = mated[mate, stage] - mated[mate, stage - 1]
                for node in mate:
                    for other, former in self.wires.touching[node]:
                        if former == mate:
                            continue
                        there = frame.here(other.owner, stage) if other.owner else 1
                        lost = mated[former, stage - 1] - mated[former, stage] + there - 1
                        inserted = self._is_inserted(mate, stage)
                        frame.demand(moved >= new + lost + stays - 2 - inserted)

    def _is_inserted(self, mate: Mate, stage: int):
        """Give a term that may be 1 if a new part of this mate lies between two plugs that were mated."""
        if (mate, stage) not in self._inserts:
            one, other = mate
            ways = [*self._betweens(one, other, stage), *self._betweens(other, one, stage)]
            inserted = self.frame.share()
            self.frame.demand(inserted <= self.frame.sum(ways))
            self._inserts[mate, stage] = inserted
        return self._inserts[mate, stage]

    def _betweens(self, come: Node, node: Node, stage: int):
        if come.owner is None:
            return
        frame, mated = self.frame, self.wires.mated
        for former, before in self.wires.touching[node]:
            beyond = [mated[on, stage] for end, on in self.wires.touching[former] if end.owner == come.owner]
            if beyond:
                between = frame.share()
                frame.demand(between <= frame.add(come.owner, stage))
                frame.demand(between <= mated[before, stage - 1])
                frame.demand(between <= frame.sum(beyond))
                yield between


class Presets:
    """`made[amplifier, stage]`: a preset is made; `kept[amplifier, stage]`: one in force before still is."""

    def __init__(self, frame: Frame, wires: Wires, limits: Limits) -> None:
        self.frame, self.world, self.wires, self.capped = frame, frame.world, wires, limits.capped
        self.made: dict[tuple[Placement, int], Any] = {}
        self.kept: dict[tuple[Placement, int], Any] = {}
        for one in frame.placements:
            if self.world.part(one).kind == "amplifier":
                self._chain(one)

    def _chain(self, one: Placement) -> None:
        frame, found = self.frame, self.world.found
        force: Any = int(
            self.wires.present is not None and one in self.world.present and one.part in found.presets
        )
        for stage in frame.stages:
            self.kept[one, stage] = kept = frame.binary()
            self.made[one, stage] = made = frame.binary()
            frame.demand(kept <= force)
            frame.demand(kept <= frame.here(one, stage))
            for now, before in self._links(one, stage):
                frame.demand(kept <= 1 - (now - before))
                frame.demand(kept <= 1 - (before - now))
            needed = self._needed(one, stage)
            frame.demand(made >= needed + frame.busy[stage] - kept - 1)
            frame.demand(made <= needed)
            frame.demand(made <= frame.busy[stage])
            frame.demand(made + kept <= 1)
            if not self.world.services(one.part, frame.day(stage)):
                frame.demand(made <= 0)
            force = kept + made

    def _needed(self, one: Placement, stage: int):
        chains = self.world.rules("preset_chain")
        if any(self.world.selects_placed(rule.subject, one) for rule in chains):
            return self.frame.here(one, stage)
        capped = self.capped.get((one, stage), [])
        return self.frame.any_of(capped) if capped else 0

    def _links(self, amplifier: Placement, stage: int):
        """Give what is in a chain, now and before: head units, what lives in them, and the speakers fed."""
        frame = self.frame
        heads = [one for one in frame.placements if self.world.part(one).kind == "head_unit"]
        for head in heads:
            yield frame.here(head, stage), frame.here(head, stage - 1)
        for one in frame.placements:
            # A part with a host is there only beside one of its hosts, once a path has begun.
            if any(one.place == head.place and head.part in self.world.part(one).host for head in heads):
                yield frame.here(one, stage), frame.here(one, stage - 1)
        for one in frame.placements:
            if self.world.part(one).speaker:
                yield self._fed(amplifier, one, stage), self._fed(amplifier, one, stage - 1)

    def _fed(self, amplifier: Placement, speaker: Placement, stage: int):
        """Give a term: the amplifier feeds one side of the speaker, or both."""
        terms = []
        for sink, channel in product(self.world.sinks(speaker), self.world.part(amplifier).channels):
            key = (amplifier, channel.id), sink, stage
            if key in self.wires.feeds:
                terms.append(self.wires.feeds[key])
        return self.frame.any_of(terms) if terms else 0
