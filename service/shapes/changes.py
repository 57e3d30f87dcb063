"""What may be stale of what a shop keeps: the question, and the answer bike by bike."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Self

from pydantic import Field

from rules.impact.stale import Stale, Standing
from service.serving import Serving
from service.shapes.base import Day, Told
from service.shapes.page import PageAsked, PageTold
from service.shapes.release import ReleaseNamed


class ChangesAsked(PageAsked):
    """Since which release, and for which days."""

    since: str = Field(
        max_length=120, description="The release whose answers you keep: its name, as every answer gives it."
    )
    since_on: Day | None = Field(
        default=None, description="The day that they are for; left out, the same as `on`."
    )
    on: Day | None = Field(
        default=None, description="The day that you want answers for; left out, today at the shop."
    )


class StaleTold(Told):
    """What may be stale about one bike: all of it (`new`, `gone`, `every_part`), or the answers about `parts` alone."""

    bike: str
    standing: Standing
    parts: tuple[str, ...]

    @classmethod
    def from_domain(cls, stale: Stale) -> Self:
        """Write it."""
        return cls(bike=stale.bike, standing=stale.standing, parts=stale.parts)


class ChangesTold(PageTold):
    """Bikes of which kept answers may no longer hold, in order of id; about all others, lists and exports say what they said."""

    since: str
    since_on: date
    on: date
    rows: tuple[StaleTold, ...]

    @classmethod
    def from_domain(
        cls, stale: Iterable[Stale], asked: ChangesAsked, days: tuple[date, date], serving: Serving
    ) -> Self:
        """Write a page of what is to come.

        Args:
            days: The day that is kept, and the day that is wanted.
        """
        to_come = (x for x in stale if asked.after is None or x.bike > asked.after)
        page = asked.page(to_come, lambda x: x.bike)
        return cls(
            release=ReleaseNamed.from_domain(serving),
            since=asked.since,
            since_on=days[0],
            on=days[1],
            rows=tuple(StaleTold.from_domain(x) for x in page.rows),
            complete=page.complete,
            next=page.next,
        )
