"""One build on one bike, as rules see it: facts by name, with where they come from, and what is fitted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING

from rules.build import Build, Placement
from rules.catalog.condition import Comparison, Condition, Fitted, Selector
from rules.catalog.facts import Unknown, Value
from rules.conditions import Truth, evaluate, leaves
from rules.verdict import Cause

if TYPE_CHECKING:
    from rules.bench import Bench


@dataclass(frozen=True, slots=True, kw_only=True)
class Guard:
    """What a rule's `when` says of one part, and what decided it.

    `holds` is true, false or unknown; `present` and `repairs` are the placements that made `fitted` true, and
    those that would make it true where it is false.
    """

    holds: bool | None
    causes: tuple[Cause, ...] = ()
    present: frozenset[Placement] = frozenset()
    repairs: frozenset[Placement] = frozenset()


ALWAYS = Guard(holds=True)


class Scene:
    """A build on the bench."""

    def __init__(self, bench: Bench, build: Build) -> None:
        self.bench = bench
        self.build = build

    @cached_property
    def _ordered(self) -> list[Placement]:
        return sorted(self.build)

    def at(self, place: str, slot: str | None = None) -> Iterator[Placement]:
        """Give the placements in a place (and slot), in order."""
        for placed in self._ordered:
            if placed.place == place and slot in (None, self.bench.part(placed).slot):
                yield placed

    def matching(self, selector: Selector, beside: Placement, *, same_place: bool) -> Iterator[Placement]:
        """Give the other placements of the build that a selector selects."""
        for placed in self._ordered:
            if (
                placed != beside
                and (not same_place or placed.place == beside.place)
                and self.bench.selects(selector, placed)
            ):
                yield placed

    def guard(self, when: Condition | None, subject: Placement) -> Guard:
        """Evaluate a rule's `when` for the part in question."""
        if when is None:
            return ALWAYS
        truth = evaluate(
            when, lambda name: self.bench.fact(name, subject), lambda leaf: self._is_fitted(leaf, subject)
        )
        if truth.holds is not None and _repeats_itself(when):
            truth = self._trimmed(truth, when, subject)
        # Where the answer is unknown, any member may have kept it from being false: all selectors count.
        selectors = (
            truth.selectors
            if truth.holds is not None
            else tuple(x for x in leaves(when) if isinstance(x, Fitted))
        )
        present: set[Placement] = set()
        repairs: set[Placement] = set()
        for leaf in selectors:
            match = next(self.matching(leaf.fitted, subject, same_place=leaf.same_place), None)
            if match is not None:
                present.add(match)
            else:
                repairs |= self.bench.candidates(leaf.fitted, subject.place if leaf.same_place else None)
        causes = tuple(self.bench.cause(consulted.name, subject) for consulted in truth.facts)
        return Guard(
            holds=truth.holds,
            causes=causes,
            present=frozenset(present),
            repairs=frozenset(repairs) - {subject},
        )

    def _trimmed(self, truth: Truth, when: Condition, subject: Placement) -> Truth:
        """Drop what does not decide after all: a fact named twice may do alone what it did with another."""
        for one in (*truth.facts, *truth.selectors):
            facts = tuple(x for x in truth.facts if x != one)
            selectors = tuple(x for x in truth.selectors if x != one)
            if self._decides(when, {x.name for x in facts}, selectors, subject) is truth.holds:
                truth = Truth(holds=truth.holds, facts=facts, selectors=selectors)
        return truth

    def _decides(
        self, when: Condition, facts: set[str], selectors: tuple[Fitted, ...], subject: Placement
    ) -> bool | None:
        """Evaluate a condition as if only these facts and selectors were known."""
        return evaluate(
            when,
            lambda name: self.bench.fact(name, subject) if name in facts else None,
            lambda leaf: self._is_fitted(leaf, subject) if leaf in selectors else None,
        ).holds

    def _is_fitted(self, leaf: Fitted, subject: Placement) -> bool:
        return next(self.matching(leaf.fitted, subject, same_place=leaf.same_place), None) is not None


@lru_cache(maxsize=4_096)
def _repeats_itself(when: Condition) -> bool:
    named = [leaf.fact if isinstance(leaf, Comparison) else leaf for leaf in leaves(when)]
    return len(set(named)) < len(named)


def number(value: Value | Unknown | None) -> float | None:
    """Give a fact as a number; None if it is unknown or no number."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return float(value)
