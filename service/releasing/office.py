"""The service's side of the database: who may do what, which release is served, and which older ones are held."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from service.plans.keeper import PlanKeeper
from service.releasing.ahead import Ahead
from service.releasing.examine import Run, apart
from service.releasing.follower import Followed, Follower, Warm
from service.releasing.manager import Manager
from service.releasing.shelf import Shelf
from service.serving import Serving
from service.store.database import Database
from service.store.kept import KeptKey
from service.store.keys import KeyStore
from service.storefront.warming import Judge


def _clock() -> datetime:
    return datetime.now(UTC)


class Office:
    """What an application has where there is a database.

    Args:
        held: Older releases in memory.
        every_s: How often the database is asked what is served [s].
        run: How the long steps on the way to a release are taken.
        judge: How pairs of a release are worked out before it is served; in a process apart, unless it is given.
        now: The clock, for the history.
    """

    def __init__(
        self,
        database: Database,
        *,
        held: int = 4,
        every_s: float = 1.0,
        run: Run = apart,
        judge: Judge | None = None,
        now: Callable[[], datetime] = _clock,
    ) -> None:
        self.database = database
        self._now = now
        self.shelf = Shelf(database, held)
        self._every_s = every_s
        self._run = run
        self.judge: Judge = judge or Ahead(database)
        self._follower: Follower | None = None

    def attach(self, serving: Serving, swap: Callable[[Serving], None], warm: Warm) -> None:
        """Take over what an application serves.

        Args:
            serving: What it serves now.
            swap: Makes it serve another.
            warm: Begins to work out what will be asked of another.
        """
        before = serving

        def swap_and_hold(following: Serving) -> None:
            nonlocal before
            swap(following)
            self.shelf.put(before)
            before = following

        self._follower = Follower(self.database, serving, swap_and_hold, warm, self.shelf.find, self._every_s)

    @property
    def follower(self) -> Follower:
        """What follows the database for the application."""
        if self._follower is None:
            raise RuntimeError("attach an application first")
        return self._follower

    def manager(self, by: str) -> Manager:
        """Let somebody work on releases."""
        return Manager(database=self.database, by=by, run=self._run, now=self._now)

    def keeper(self, by: str) -> PlanKeeper:
        """Let somebody work on saved plans."""
        return PlanKeeper(database=self.database, by=by, now=self._now)

    def holder(self, key: str) -> KeptKey | None:
        """Tell whose key this is.

        Raises:
            StoreLost: Nobody can tell.
        """
        return KeyStore(self.database).holder(key)

    def followed(self) -> Followed:
        """Tell how far this process has come."""
        return self.follower.followed

    def start(self) -> None:
        """Begin to follow."""
        self.follower.follow()
        self.follower.start()

    def stop(self) -> None:
        """Stop following, and let go of the database."""
        self.follower.stop()
        self.database.close()
