"""The nearest known word to a misspelt one."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

_CLOSE = 0.6
"""Share of matching letters [0..1] from which a word is worth suggesting: difflib's own threshold."""

_LONGEST = 80
"""Longer words are not ids, and comparing them takes long."""


def nearest(word: str, known: Iterable[str]) -> str | None:
    """The known word that is most like the given one, if any is close.

    Example:
        >>> nearest("rear_pod", ["rear_pods", "lids"])
        'rear_pods'
    """
    if len(word) > _LONGEST:
        return None
    found = difflib.get_close_matches(word, sorted(known), n=1, cutoff=_CLOSE)
    return found[0] if found else None


def did_you_mean(word: str, known: Iterable[str]) -> str | None:
    """A hint that names the nearest known word, if any is close."""
    near = nearest(word, known)
    return f"did you mean `{near}`?" if near else None
