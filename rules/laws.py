"""What examinations have taught about one bike: with all of these parts and none of those, no build is valid.

A law holds for every build on the bench, so it is learned once and used by every later search. `docs/decisions` argues why
branching on laws is exact.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from rules.build import Placement
from rules.verdict import Finding, Status


class Law(NamedTuple):
    """No valid build holds all of `present` and none of `repairs`. `finding` says why."""

    present: frozenset[Placement]
    repairs: frozenset[Placement]
    finding: Finding


class Laws:
    """Laws learned on one bench, for one reading of missing facts.

    Args:
        counted: REFUSED alone (a missing fact is given the benefit of the doubt), or UNKNOWN as well (it is not).
    """

    def __init__(self, counted: frozenset[Status]) -> None:
        self.counted = counted
        self._by_member: dict[Placement, list[Law]] = {}
        self._ordered: list[Law] = []
        self._known: set[tuple[frozenset[Placement], frozenset[Placement]]] = set()

    def learn(self, findings: Iterable[Finding]) -> None:
        """Add what these findings teach."""
        for finding in findings:
            key = (finding.present, finding.repairs)
            if finding.status in self.counted and key not in self._known:
                self._known.add(key)
                law = Law(*key, finding)
                self._ordered.append(law)
                for placed in law.present:
                    self._by_member.setdefault(placed, []).append(law)

    def involving(self, placed: Placement) -> list[Law]:
        """Give the laws that speak of a placement's being there."""
        return self._by_member.get(placed, [])

    def all(self) -> list[Law]:
        """Give every law, in the order in which they were learned."""
        return self._ordered

    def since(self, count: int) -> list[Law]:
        """Give the laws learned after the first `count`."""
        return self._ordered[count:]


VERIFIED = frozenset({Status.REFUSED, Status.UNKNOWN})
HOPEFUL = frozenset({Status.REFUSED})
