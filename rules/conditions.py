"""Conditions in three values: true, false, and unknown where a fact is missing (Kleene's strong logic).

An answer carries the facts and selectors that decided it, and only those: one false member is enough to
refuse `all`, so the others are not named. Where the answer is unknown it carries what would have to be found
out.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass

from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not
from rules.catalog.facts import Unknown, Value

Kleene = bool | None
"""True, false, or None for unknown."""

Lookup = Callable[[str], Value | Unknown | None]
"""Gives a fact by its name (`bike.cooling`); None if nothing is recorded."""

FittedCheck = Callable[[Fitted], Kleene]
"""Tells whether the build holds a part that the selector matches."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Consulted:
    """A fact that a condition looked at, and what was recorded (None: nothing)."""

    name: str
    value: Value | Unknown | None

    @property
    def is_known(self) -> bool:
        return not (self.value is None or isinstance(self.value, Unknown))


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """A condition's answer with what decided it, or, if it is unknown, with what left it open."""

    holds: Kleene
    facts: tuple[Consulted, ...] = ()
    selectors: tuple[Fitted, ...] = ()

    @property
    def missing(self) -> tuple[Consulted, ...]:
        """Facts that nobody has recorded, so that they leave the answer open."""
        return tuple(fact for fact in self.facts if not fact.is_known)


def negate(value: Kleene) -> Kleene:
    """The reverse; unknown stays unknown.

    Example:
        >>> negate(True), negate(False), negate(None)
        (False, True, None)
    """
    return None if value is None else not value


def all_of(values: Iterable[Kleene]) -> Kleene:
    """False if any is false, else unknown if any is unknown, else true.

    Example:
        >>> all_of([True, None, False]), all_of([True, None]), all_of([])
        (False, None, True)
    """
    members = tuple(values)
    if False in members:
        return False
    return None if None in members else True


def any_of(values: Iterable[Kleene]) -> Kleene:
    """True if any is true, else unknown if any is unknown, else false.

    Example:
        >>> any_of([False, None, True]), any_of([False, None]), any_of([])
        (True, None, False)
    """
    return negate(all_of(negate(value) for value in values))


def evaluate(condition: Condition, lookup: Lookup, fitted: FittedCheck) -> Truth:
    """Decide a condition from recorded facts and from what is fitted.

    Args:
        condition: As written in a rule.
        lookup: Gives a fact by its name. A missing fact and an `Unknown` both leave the comparison unknown.
        fitted: Tells whether a selector matches something in the build.

    Returns: The answer. Values of different types are never equal and never in order: that is false, not
        unknown.
    """

    def members(given: Iterable[Condition]) -> list[Truth]:
        return [evaluate(member, lookup, fitted) for member in given]

    match condition:
        case Comparison():
            return _compare(condition, lookup(condition.fact))
        case Fitted():
            return Truth(holds=fitted(condition), selectors=(condition,))
        case Not():
            inner = evaluate(condition.not_, lookup, fitted)
            return Truth(holds=negate(inner.holds), facts=inner.facts, selectors=inner.selectors)
        case All():
            return _join(all_of, members(condition.all), decisive=False)
        case AnyOf():
            return _join(any_of, members(condition.any), decisive=True)


def facts_named(condition: Condition) -> tuple[str, ...]:
    """Every fact that a condition names, in the order of writing, each once."""
    return tuple(dict.fromkeys(part.fact for part in leaves(condition) if isinstance(part, Comparison)))


def leaves(condition: Condition) -> tuple[Comparison | Fitted, ...]:
    """The comparisons and selectors of a condition, in the order of writing."""
    match condition:
        case All():
            return tuple(leaf for member in condition.all for leaf in leaves(member))
        case AnyOf():
            return tuple(leaf for member in condition.any for leaf in leaves(member))
        case Not():
            return leaves(condition.not_)
        case _:
            return (condition,)


def _join(rule: Callable[[Iterable[Kleene]], Kleene], members: list[Truth], *, decisive: bool) -> Truth:
    holds = rule(member.holds for member in members)
    deciding = [member for member in members if member.holds is holds]
    if holds is decisive:
        deciding = deciding[:1]
    return Truth(
        holds=holds,
        facts=tuple(dict.fromkeys(fact for member in deciding for fact in member.facts)),
        selectors=tuple(dict.fromkeys(picked for member in deciding for picked in member.selectors)),
    )


def _compare(comparison: Comparison, value: Value | Unknown | None) -> Truth:
    return Truth(holds=compares(comparison, value), facts=(Consulted(name=comparison.fact, value=value),))


def compares(comparison: Comparison, value: Value | Unknown | None) -> Kleene:
    """Tell how a comparison comes out for what is recorded of its fact; unknown where nothing is."""
    return None if value is None or isinstance(value, Unknown) else _holds(comparison, value)


def _holds(comparison: Comparison, value: Value) -> bool:
    if comparison.equals is not None:
        return _same(comparison.equals, value)
    if comparison.one_of is not None:
        return any(_same(option, value) for option in comparison.one_of)
    if comparison.at_least is not None:
        return _is_number(value) and value >= comparison.at_least  # type: ignore[operator]
    if comparison.at_most is not None:
        return _is_number(value) and value <= comparison.at_most  # type: ignore[operator]
    return isinstance(value, tuple) and comparison.has in value


def _same(one: Value, other: Value) -> bool:
    # Python counts True as 1, which no catalog manager means.
    return isinstance(one, bool) == isinstance(other, bool) and one == other


def _is_number(value: Value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool)
