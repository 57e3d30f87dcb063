"""A caller's own word for a request that makes something: sent again with it, the same thing is given."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Creation:
    """A caller's word, and what was asked with it, as digests."""

    key_digest: str
    asked_digest: str


def creation_of(holder: str, word: str, asked: str) -> Creation:
    """Give what is kept of a caller's word, by which it is known again.

    Args:
        holder: Id of the caller's key: two callers may choose the same word.
        asked: What is asked with it, in one fixed form.
    """
    return Creation(key_digest=_digest(f"{holder} {word}"), asked_digest=_digest(asked))


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()
