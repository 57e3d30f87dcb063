"""Presets in the CP-SAT model: where one is needed, in force, made."""

from __future__ import annotations

from typing import Any

from rules.build import Placement
from tests.oracle.cpsat_feeds import Feeds


class Presets:
    """`made[amplifier, stage]`: a preset is made there; `kept[amplifier, stage]`: one in force before is so still."""

    def __init__(self, path, feeds: Feeds, capped: dict[tuple[Placement, int], list[Any]]) -> None:
        self.path, self.world, self.logic = path, path.world, path.logic
        self.feeds, self.capped = feeds, capped
        self.amplifiers = [one for one in path.universe if self.world.part(one).kind == "amplifier"]
        self.made: dict[tuple[Placement, int], Any] = {}
        self.kept: dict[tuple[Placement, int], Any] = {}
        for one in self.amplifiers:
            self._draw(one)

    def _draw(self, one: Placement) -> None:
        logic, path = self.logic, self.path
        now = self.feeds.wired_now and one in self.world.present
        force: Any = now and one.part in self.world.found.presets
        for stage in path.stages:
            kept = logic.all_of([force, path.here[one, stage], self._same_chain(one, stage)])
            made = logic.all_of([path.changes[stage], self._is_needed(one, stage), logic.neg(kept)])
            if not self.world.services(one.part, path.day(stage)):
                logic.demand(logic.neg(made))
            self.kept[one, stage], self.made[one, stage] = kept, made
            force = logic.any_of([kept, made])

    def _is_needed(self, one: Placement, stage: int):
        chained = any(
            self.world.selects_placed(rule.subject, one) for rule in self.world.rules("preset_chain")
        )
        return self.logic.all_of(
            [self.path.here[one, stage], self.logic.any_of([chained, *self.capped.get((one, stage), [])])]
        )

    def _same_chain(self, amplifier: Placement, stage: int):
        now, before = self._chain(amplifier, stage), self._chain(amplifier, stage - 1)
        changed = [
            self.logic.differ(now.get(key, False), before.get(key, False)) for key in {**now, **before}
        ]
        return self.logic.neg(self.logic.any_of(changed))

    def _chain(self, amplifier: Placement, stage: int) -> dict[Any, Any]:
        """Give a literal for everything that may be in an amplifier's chain."""
        chain: dict[Any, Any] = {}
        for head in self.path.universe:
            if self.world.part(head).kind == "head_unit":
                chain[head] = self.path.here[head, stage]
                for one in self.path.universe:
                    if one.place == head.place and head.part in self.world.part(one).host:
                        both = self.logic.all_of([chain[head], self.path.here[one, stage]])
                        chain[one] = self.logic.any_of([chain.get(one, False), both])
        for channel in self.feeds.channels:
            if channel[0] == amplifier:
                for sink, literal in self.feeds.sinks_of(channel, stage).items():
                    key = "feeds", sink.speaker
                    chain[key] = self.logic.any_of([chain.get(key, False), literal])
        return chain
