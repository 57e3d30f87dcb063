"""Sentences worth saying. Advice never makes a build invalid."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.catalog.rule import Advice
from rules.scene import Scene
from rules.verdict import Finding, Status


def check(rule: Advice, scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Give the advice where its condition is known to hold."""
    guard = scene.guard(rule.when, placed)
    if guard.holds:
        yield Finding(
            rule=rule.id,
            status=Status.ADVICE,
            present=frozenset({placed}) | guard.present,
            causes=guard.causes,
        )
