"""What was encoded once, in memory that is bounded."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TypeVar

K = TypeVar("K")
V = TypeVar("V")

ENCODED = 200_000
"""Pieces of one sort that are kept; beyond, they are encoded anew. Each takes up to a few kilobytes."""


class Encoded(dict[K, V]):
    """Pieces of one sort."""

    def put(self, key: K, value: V) -> V:
        """Keep a piece, and give it back."""
        if len(self) >= ENCODED:
            self.clear()
        self[key] = value
        return value

    def of(self, key: K, make: Callable[[K], V]) -> V:
        """Give a piece, and make and keep it if it is new."""
        known = self.get(key)
        return self.put(key, make(key)) if known is None else known

    def all(self, keys: Sequence[K], make: Callable[[K], V]) -> list[V]:
        """Give several pieces, and make and keep those that are new."""
        try:
            return [*map(self.__getitem__, keys)]
        except KeyError:
            return [self.of(x, make) for x in keys]
