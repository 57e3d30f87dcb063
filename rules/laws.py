"""What examinations have taught about one bike: with all of these parts and none of those, no build is valid.

A law holds for every build on the bench, so it is learned once and used by every later search. `docs/decisions` argues why
branching on laws is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from typing import NamedTuple

from rules.build import Placement
from rules.verdict import Finding, Status, TrueOf


class Law(NamedTuple):
    """No valid build holds one of each group and none of `repairs`. `finding` says why."""

    groups: tuple[frozenset[Placement], ...]
    repairs: frozenset[Placement]
    finding: Finding

    def may_hold_in(self, held: Collection[Placement]) -> bool:
        """Tell whether placements could break the law: there is one of each group among them."""
        return all(not group.isdisjoint(held) for group in self.groups)

    def is_broken_by(self, build: Collection[Placement]) -> bool:
        """Tell whether a build breaks the law."""
        return self.may_hold_in(build) and self.repairs.isdisjoint(build)

    def forbids(self, placed: Placement) -> bool:
        """Tell whether a placement breaks the law all by itself, whatever else is there."""
        return not self.repairs and all(placed in group for group in self.groups)


class Laws:
    """Laws learned on one bench, for one reading of missing facts.

    Args:
        counted: REFUSED alone (a missing fact is given the benefit of the doubt), or UNKNOWN as well (it is not).
        like: Gives the placements of which a law is as true as of one, and that cannot be there beside it.
    """

    def __init__(
        self, counted: frozenset[Status], like: Callable[[Placement, TrueOf], frozenset[Placement]]
    ) -> None:
        self.counted = counted
        self._like = like
        self._by_member: dict[Placement, list[Law]] = {}
        self._ordered: list[Law] = []
        self._learned: dict[int, tuple[Finding, Law]] = {}
        self._known: dict[tuple[frozenset[frozenset[Placement]], frozenset[Placement]], Law] = {}

    def learn(self, findings: Iterable[Finding]) -> list[Law]:
        """Add what these findings teach.

        Returns: the laws that they are, known before or not.
        """
        return [self._learn(x) for x in findings if x.status in self.counted]

    def _learn(self, finding: Finding) -> Law:
        # The same findings come again with every look at the same build.
        known = self._learned.get(id(finding))
        if known is None or known[0] is not finding:
            known = self._learned[id(finding)] = (finding, self._add(self._law(finding)))
        return known[1]

    def _law(self, finding: Finding) -> Law:
        members, repairs = sorted(finding.present), finding.repairs - finding.futile
        groups = tuple(self._like(x, finding.true_of) for x in members)
        # Two parts of one slot may be alike: one part alone would stand for both.
        if len(frozenset().union(*groups)) < sum(map(len, groups)):
            return Law(tuple(frozenset({x}) for x in members), repairs, finding)
        # Where one of those alike is, none of the others can come in.
        return Law(groups, repairs - frozenset().union(*groups), finding)

    def _add(self, law: Law) -> Law:
        key = (frozenset(law.groups), law.repairs)
        if key in self._known:
            return self._known[key]
        self._known[key] = law
        self._ordered.append(law)
        for placed in {x for group in law.groups for x in group}:
            self._by_member.setdefault(placed, []).append(law)
        return law

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
