"""Conditions of rules, in three values."""

from __future__ import annotations

from collections.abc import Callable

from rules.catalog.condition import All, AnyOf, Comparison, Condition, Fitted, Not
from rules.catalog.facts import Value
from rules.checker.figures import exact
from rules.checker.three import Three, all_of, any_of, not_

Facts = Callable[[str], Value | None]
"""Gives a fact by its name; None if nobody knows it."""

IsFitted = Callable[[Fitted], Three]
"""Tells whether such a part is fitted; None if nothing is said of that."""


def is_met(condition: Condition | None, facts: Facts, is_fitted: IsFitted) -> Three:
    """Decide a condition; no condition is always met."""
    match condition:
        case None:
            return True
        case All():
            return all_of(is_met(one, facts, is_fitted) for one in condition.all)
        case AnyOf():
            return any_of(is_met(one, facts, is_fitted) for one in condition.any)
        case Not():
            return not_(is_met(condition.not_, facts, is_fitted))
        case Fitted():
            return is_fitted(condition)
        case Comparison():
            value = facts(condition.fact)
            return None if value is None else _compare(condition, value)


def _compare(asked: Comparison, value: Value) -> bool:
    """Compare a known value; values of different types are neither equal nor in order."""
    if asked.equals is not None:
        return _is_same(asked.equals, value)
    if asked.one_of is not None:
        return any(_is_same(one, value) for one in asked.one_of)
    if asked.has is not None:
        return isinstance(value, tuple) and asked.has in value
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    if asked.at_least is not None:
        return exact(value) >= exact(asked.at_least)
    return asked.at_most is not None and exact(value) <= exact(asked.at_most)


def _is_same(one: Value, other: Value) -> bool:
    # To Python, true is the number one.
    return isinstance(one, bool) is isinstance(other, bool) and one == other
