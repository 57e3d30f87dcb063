"""Three values: true, false, and None for what nobody knows."""

from __future__ import annotations

from collections.abc import Iterable

Three = bool | None


def not_(value: Three) -> Three:
    """Turn it round; unknown stays unknown.

    Example:
        >>> not_(True), not_(None)
        (False, None)
    """
    return None if value is None else not value


def all_of(values: Iterable[Three]) -> Three:
    """One false member decides; else one unknown member leaves it open.

    Example:
        >>> all_of([True, None, False]), all_of([True, None]), all_of([])
        (False, None, True)
    """
    result: Three = True
    for value in values:
        if value is False:
            return False
        if value is None:
            result = None
    return result


def any_of(values: Iterable[Three]) -> Three:
    """One true member decides; else one unknown member leaves it open.

    Example:
        >>> any_of([False, None, True]), any_of([False, None]), any_of([])
        (True, None, False)
    """
    return not_(all_of(not_(value) for value in values))
