"""Older releases that are asked about again: a few are held in memory, the one that was asked longest ago goes first."""

from __future__ import annotations

import threading
from collections import OrderedDict

from service.releasing.opening import open_named
from service.serving import Serving
from service.store.database import Database


class Shelf:
    """Holds at most `most` older releases, each with its engine."""

    def __init__(self, database: Database, most: int) -> None:
        self.database = database
        self.most = most
        self._held: OrderedDict[str, Serving] = OrderedDict()
        self._lock = threading.Lock()
        self._opening = threading.Lock()

    def put(self, serving: Serving) -> None:
        """Hold what was served until now: somebody has just been given its name."""
        with self._lock:
            self._held[serving.name] = serving
            self._held.move_to_end(serving.name)
            while len(self._held) > self.most:
                self._held.popitem(last=False)

    def find(self, name: str) -> Serving | None:
        """Give what is held under a name."""
        with self._lock:
            if name in self._held:
                self._held.move_to_end(name)
            return self._held.get(name)

    def open(self, name: str) -> Serving | None:
        """Give what answered under a name at some time; None if nothing did.

        Raises:
            DamagedRelease, NoLongerSound, NoRoom, StoreLost: It cannot be read now.
        """
        # One at a time: many who ask for the same release wait for one reading of it.
        with self._opening:
            serving = self.find(name) or open_named(self.database, name)
            if serving is not None:
                self.put(serving)
            return serving
