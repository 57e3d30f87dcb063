"""Follows what the database says is served, in every process: polls, makes ready, and swaps between two requests."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

from rules.release import ENGINE_REVISION, Release
from service.garbage import set_aside
from service.giving_way import giving_way
from service.releasing.failures import Failure
from service.releasing.opening import open_release
from service.serving import Serving, name_of
from service.store.database import Database
from service.store.errors import DamagedRelease, StoreError
from service.store.events import Standing
from service.store.history import History

WARMED_S = 300.0
"""How long a release waits until what is asked most is known of it [s]; a hold does not wait."""

LOOKED_EVERY_S = 0.25
"""How often it is looked meanwhile whether anything later has happened [s]."""

Recall = Callable[[str], Serving | None]
"""Gives what was served under a name before, if that is still held."""

Warm = Callable[[Serving], threading.Event]
"""Begins to work out what will be asked; the event is set when most of it is known."""

_LONGEST_PAUSE = 64
"""Polls between two tries to open a release that cannot be opened: each try may read fifty megabytes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Followed:
    """How far this process has come.

    Attributes:
        standing: What the database said last.
        is_reached: The database answered when it was last asked.
        trouble: Why this process does not serve what the database says; None if it does.
    """

    standing: Standing
    is_reached: bool = True
    trouble: str | None = None


class Follower:
    """Keeps one process at what the database says.

    Args:
        swap: Takes the next object to serve. One assignment, so that no request sees half of it.
        warm: Begins to work out what will be asked of it.
        recall: A way back leads to all that was known, and nothing is made anew that is held.
    """

    def __init__(
        self,
        database: Database,
        serving: Serving,
        swap: Callable[[Serving], None],
        warm: Warm,
        recall: Recall = lambda _: None,
        every_s: float = 1.0,
    ) -> None:
        self.database = database
        self.followed = Followed(standing=Standing())
        self.every_s = every_s
        self._serving = serving
        self._swap = swap
        self._warm = warm
        self._recall = recall
        self._base: Release | None = None
        self._lock = threading.Lock()
        self._stopped = threading.Event()
        self._hurried = threading.Event()
        self._pause = self._passed = 0
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Follow until stopped."""
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, name="follower", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Stop following; what is served is served on."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()

    def hurry(self) -> None:
        """Serve what is being made ready without waiting any longer: somebody has seen it elsewhere."""
        self._hurried.set()

    def _run(self) -> None:
        while not self._stopped.wait(self.every_s):
            self.follow()

    def follow(self, *, at_once: bool = False) -> Followed:
        """Look once, and swap if there is something new.

        Args:
            at_once: Try again what could not be opened, without the pause that spares the database.
        """
        with self._lock:
            try:
                self._look(at_once=at_once)
            except StoreError:
                self.followed = replace(self.followed, is_reached=False)
            return self.followed

    def _look(self, *, at_once: bool) -> None:
        history = History(self.database)
        if history.latest() == self.followed.standing.number and not self._is_due(at_once=at_once):
            self.followed = replace(self.followed, is_reached=True)
            return
        standing = history.standing()
        trouble = self._take(standing)
        self._passed = 0
        self._pause = min(max(1, 2 * self._pause), _LONGEST_PAUSE) if trouble else 0
        self.followed = Followed(standing=standing, trouble=trouble)

    def _is_due(self, *, at_once: bool) -> bool:
        if self.followed.trouble is None:
            return False
        self._passed += 1
        return at_once or self._passed >= self._pause

    def _take(self, standing: Standing) -> str | None:
        """Serve what stands, or say why that cannot be done; then the last good one is served on."""
        if standing.release is None:
            return None
        if self._serves(standing):
            self._renumber(standing.number)
            return None
        self._hurried.clear()
        is_hasty = self._is_hasty(standing)
        with giving_way(lambda: is_hasty or self._is_hurried()):
            try:
                following = self._recalled(standing) or self._made_ready(standing.release, standing)
            except (DamagedRelease, Failure) as error:
                return str(error)
            except StoreError:
                raise
            except (MemoryError, RuntimeError, ValueError, TypeError, LookupError, ArithmeticError):
                # Whatever is wrong with it, it must not take down what is served. The text could hold anything.
                return f"{standing.release} cannot be opened by this process"
            ready = self._warm(following)
        if not is_hasty:
            self._await(ready, standing)
        self._serving = following
        self._swap(following)
        return None

    def _recalled(self, standing: Standing) -> Serving | None:
        held = self._recall(name_of(standing.release or "", ENGINE_REVISION, standing.held))
        return None if held is None else held.renumbered(standing.number)

    def _made_ready(self, release: str, standing: Standing) -> Serving:
        with set_aside():
            if self._base is None or self._base.id != release:
                self._base = open_release(self.database, release)
            return Serving.of(self._base, standing.held, standing.number)

    def _await(self, ready: threading.Event, standing: Standing) -> None:
        """Wait until most of what will be asked is known, unless haste comes in between."""
        ends = time.monotonic() + WARMED_S
        while time.monotonic() < ends and not ready.wait(LOOKED_EVERY_S):
            if self._is_hurried() or self._is_overtaken(standing):
                return

    def _is_hasty(self, standing: Standing) -> bool:
        """Whoever sets a hold or goes back wants what is served now to end."""
        is_hold = self._serving.release.id == standing.release
        return is_hold or (standing.active is not None and standing.active.kind == "rolled_back")

    def _is_hurried(self) -> bool:
        return self._hurried.is_set() or self._stopped.is_set()

    def _is_overtaken(self, standing: Standing) -> bool:
        try:
            return History(self.database).latest() != standing.number
        except StoreError:
            return False

    def _renumber(self, number: int) -> None:
        # A client may have seen the later number at another process; this one must not wait for it for ever.
        if self._serving.number not in (0, number):
            self._serving = self._serving.renumbered(number)
            self._swap(self._serving)

    def _serves(self, standing: Standing) -> bool:
        return self._serving.release.id == standing.release and self._serving.holds == standing.held
