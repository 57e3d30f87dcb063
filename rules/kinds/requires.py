"""A part needs another; and a head unit needs a flash, which is the same law with other words."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.catalog.rule import FlashNeeded, Requires
from rules.scene import Scene
from rules.verdict import Finding, Status


def check(rule: Requires | FlashNeeded, scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Refuse a part whose companion is missing; any one that `needs` selects will do."""
    guard = scene.guard(rule.when, placed)
    if (
        guard.holds is False
        or next(scene.matching(rule.needs, placed, same_place=rule.same_place), None) is not None
    ):
        return
    yield Finding(
        rule=rule.id,
        status=Status.REFUSED if guard.holds else Status.UNKNOWN,
        present=frozenset({placed}) | guard.present,
        repairs=guard.repairs
        | (scene.bench.candidates(rule.needs, placed.place if rule.same_place else None) - {placed}),
        causes=(scene.bench.cause("part.id", placed), *guard.causes),
    )
