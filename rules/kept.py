"""Things that are worked out once and kept, up to a number of all sorts together."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from typing import Generic, TypeVar

K = TypeVar("K", bound=Hashable)
V = TypeVar("V")

KEPT = 300_000
"""Pieces of all bikes; beyond, they are worked out anew. Most take about a kilobyte."""


class NotKept(Exception):  # noqa: N818 - not an error: somebody has to work it out first
    """A piece has not been worked out yet."""


class Store:
    """How many pieces there are, of all sorts and bikes that share it."""

    def __init__(self) -> None:
        self.taken = 0

    @property
    def is_full(self) -> bool:
        """Tell whether it is time to begin anew."""
        return self.taken > KEPT


class Kept(Generic[K, V]):
    """Pieces of one sort, each worked out when it is first asked for."""

    __slots__ = ("_found", "_store", "_work_out")

    def __init__(self, work_out: Callable[[K], V], store: Store) -> None:
        self._work_out = work_out
        self._store = store
        self._found: dict[K, V] = {}

    def of(self, key: K, *, learns: bool) -> V:
        """Give a piece.

        Args:
            learns: Work it out if it is not known yet. One thread at a time may.

        Raises: `NotKept` where it is not known and may not be worked out.
        """
        try:
            return self._found[key]
        except KeyError:
            if not learns:
                raise NotKept from None
        self._store.taken += 1
        found = self._found[key] = self._work_out(key)
        return found

    def known(self, key: K) -> V | None:
        """Give a piece if it has been worked out."""
        return self._found.get(key)

    def all(self, keys: Sequence[K], *, learns: bool) -> list[V]:
        """Give several pieces, as above."""
        known = self._found
        try:
            return [*map(known.__getitem__, keys)]
        except KeyError:
            return [self.of(key, learns=learns) for key in keys]
