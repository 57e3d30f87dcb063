"""What a condition can come to on one bike, whatever else is fitted there: true, false, or either."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not
from rules.catalog.facts import Unknown
from rules.conditions import Lookup, evaluate

Outcomes = frozenset[bool]
"""The truth values that a condition can have. Both: it depends on what is fitted, or on a fact that is missing."""

EITHER: Outcomes = frozenset({True, False})
NEITHER: Outcomes = frozenset()
YES: Outcomes = frozenset({True})
NO: Outcomes = frozenset({False})

CanBeFitted = Callable[[Fitted], bool]
"""Tells whether anything that a selector selects could be fitted."""


def outcomes(
    condition: Condition | None, lookup: Lookup, can_be_fitted: CanBeFitted, missing: Outcomes = EITHER
) -> Outcomes:
    """Give what a condition can come to.

    It may give one too many, where members depend on one another, and never one too few: so "never" and
    "always" are certain.

    Args:
        missing: What a comparison with a fact that nobody has recorded can come to. With `NEITHER` a result holds
            only what recorded facts and fitted parts bring about.
    """

    def each(members: Iterable[Condition]) -> list[Outcomes]:
        return [outcomes(member, lookup, can_be_fitted, missing) for member in members]

    match condition:
        case None:
            return YES
        case Comparison():
            return _compared(condition, lookup, missing)
        case Fitted():
            return EITHER if can_be_fitted(condition) else NO
        case Not():
            return turned(outcomes(condition.not_, lookup, can_be_fitted, missing))
        case All():
            return every(each(condition.all))
        case AnyOf():
            return turned(every([turned(member) for member in each(condition.any)]))


def turned(found: Outcomes) -> Outcomes:
    """Give the reverse of each outcome.

    Example:
        >>> turned(YES) == NO, turned(EITHER) == EITHER
        (True, True)
    """
    return frozenset(not value for value in found)


def every(members: list[Outcomes]) -> Outcomes:
    """Give what "all of these" can come to.

    Example:
        >>> every([YES, EITHER]) == EITHER, every([NO, EITHER]) == NO, every([YES, NEITHER]) == NEITHER
        (True, True, True)
    """
    true = {True} if all(True in member for member in members) else set()
    false = {False} if any(False in member for member in members) else set()
    return frozenset(true | false)


def on_bench(
    condition: Condition | None, bench: Bench, subject: Placement, missing: Outcomes = EITHER
) -> Outcomes:
    """Give what a rule's condition can come to for a part at a place of a bike."""
    return outcomes(
        condition,
        lambda name: bench.fact(name, subject),
        lambda leaf: bool(
            bench.candidates(leaf.fitted, subject.place if leaf.same_place else None) - {subject}
        ),
        missing,
    )


def on_bike(condition: Condition | None, bench: Bench) -> Outcomes:
    """Give what a condition can come to that looks at facts of the bike alone; others stay open."""

    def lookup(name: str) -> object:
        scope, _, key = name.partition(".")
        return bench.bike_cause(key).value if scope == "bike" else None

    return outcomes(condition, lookup, lambda _: True)  # type: ignore[arg-type]


def _compared(comparison: Comparison, lookup: Lookup, missing: Outcomes) -> Outcomes:
    value = lookup(comparison.fact)
    if value is None or isinstance(value, Unknown):
        return missing
    return YES if evaluate(comparison, lambda _: value, lambda _: None).holds else NO
