"""Presets: which amplifiers need one, the chain that each was made for, and whether it is still the same."""

from __future__ import annotations

from dataclasses import dataclass

from rules.build import Build, Placement
from rules.checker.loads import capped
from rules.checker.plugs import Wired
from rules.checker.world import World

Chain = tuple[Build, Build]
"""The head unit with what it hosts, and the pairs of speakers that the amplifier feeds."""


@dataclass(frozen=True, slots=True)
class Preset:
    """A preset in force: the chain that it was made for, and the visit in which it was made (0: before the first)."""

    chain: Chain
    visit: int


InForce = dict[Placement, Preset]


def chain_of(world: World, wired: Wired, amplifier: Placement) -> Chain:
    """Give an amplifier's chain."""
    heads = {x for x in wired.build if world.part(x).kind == "head_unit"}
    hosted = {
        x
        for x in wired.build
        if any(head.place == x.place and head.part in world.part(x).host for head in heads)
    }
    fed = {sink.speaker for sink, feed in wired.feeds.items() if feed.source == amplifier}
    return frozenset(heads | hosted), frozenset(fed)


def presets_as_found(world: World, wired: Wired | None) -> InForce:
    """Give what is in force before the first visit: none where nobody knows what feeds what."""
    if wired is None:
        return {}
    found = [x for x in world.present if x.part in world.found.presets]
    return {x: Preset(chain_of(world, wired, x), 0) for x in found}


def still_in_force(world: World, wired: Wired, before: InForce) -> InForce:
    """Give the presets whose chain has not changed."""
    return {
        amplifier: preset
        for amplifier, preset in before.items()
        if amplifier in wired.build and chain_of(world, wired, amplifier) == preset.chain
    }


def needing_preset(world: World, wired: Wired) -> set[Placement]:
    """Give the amplifiers that are only sound with a preset: by rule, or to cap their power."""
    chained = {
        x
        for x in wired.build
        if world.part(x).kind == "amplifier"
        and any(world.means(rule.subject, x) for rule in world.rules_on(x).chained)
    }
    return chained | capped(world, wired)
