"""A part that may not be fitted, with another or under a condition."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.catalog.rule import Excludes
from rules.scene import Scene
from rules.verdict import Finding, Status


def check(rule: Excludes, scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Refuse a part beside each other part that it excludes, or wherever the condition holds."""
    guard = scene.guard(rule.when, placed)
    if guard.holds is False:
        return
    status = Status.REFUSED if guard.holds else Status.UNKNOWN
    own = scene.bench.cause("part.id", placed)
    if rule.together_with is None:
        yield Finding(
            rule=rule.id,
            status=status,
            present=frozenset({placed}) | guard.present,
            repairs=guard.repairs,
            causes=(own, *guard.causes),
        )
        return
    for other in scene.matching(rule.together_with, placed, same_place=rule.same_place):
        yield Finding(
            rule=rule.id,
            status=status,
            present=frozenset({placed, other}) | guard.present,
            repairs=guard.repairs,
            causes=(own, scene.bench.cause("part.id", other), *guard.causes),
        )
