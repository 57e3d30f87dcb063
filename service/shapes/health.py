"""Whether the process runs, and whether it can answer."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING, Literal, Self

from service.serving import Serving
from service.shapes.base import Told
from service.shapes.release import ReleaseNamed
from service.store.events import Event

if TYPE_CHECKING:
    # Where there is no database, nothing of it is imported.
    from service.releasing.follower import Followed


class HealthTold(Told):
    """`alive`: the process runs."""

    status: Literal["alive"]
    release: ReleaseNamed

    @classmethod
    def from_domain(cls, serving: Serving) -> Self:
        """Write it."""
        return cls(status="alive", release=ReleaseNamed.from_domain(serving))


class RefusalTold(Told):
    """The last release that was refused since the present one is served; `about` is null where its files have no id."""

    about: str | None
    says: str
    at: datetime

    @classmethod
    def from_domain(cls, event: Event) -> Self:
        """Write it: what went wrong, but not who tried, since anybody may ask."""
        return cls(about=event.release, says=event.detail, at=event.at)


class FollowedTold(Told):
    """What the database says.

    `event` counts what happened to releases and holds, and `wanted` is the release that it wants served. `trouble`
    says why this process serves another one, null if it does not. `is_reached`: the database answered last time.
    """

    is_reached: bool
    event: int
    wanted: str | None
    trouble: str | None
    refused: RefusalTold | None

    @classmethod
    def from_domain(cls, followed: Followed) -> Self:
        """Write it."""
        standing = followed.standing
        return cls(
            is_reached=followed.is_reached,
            event=standing.number,
            wanted=standing.release,
            trouble=followed.trouble,
            refused=RefusalTold.from_domain(standing.refused) if standing.refused else None,
        )


class ReadyTold(Told):
    """`ready`: the process answers from this release. `database` is null where it runs without one."""

    status: Literal["ready"]
    release: ReleaseNamed
    database: FollowedTold | None

    @classmethod
    def from_domain(cls, serving: Serving, followed: Followed | None) -> Self:
        """Write it."""
        return cls(
            status="ready",
            release=ReleaseNamed.from_domain(serving),
            database=FollowedTold.from_domain(followed) if followed else None,
        )
