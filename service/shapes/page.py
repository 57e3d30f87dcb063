"""Pages of a list, in order of id: a list always says whether it is complete, and where to go on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Generic, TypeVar

from pydantic import Field

from service.shapes.base import Asked, Told
from service.shapes.release import ReleaseNamed

Row = TypeVar("Row")


class PageAsked(Asked):
    """Which page of a list."""

    limit: int = Field(default=50, ge=1, le=200, description="Most rows in this answer.")
    after: str | None = Field(
        default=None, max_length=80, description="Go on after this id: `next` of the page before."
    )

    def to_come(self, ids: Iterable[str]) -> Iterator[str]:
        """Leave out the ids of the pages before."""
        return (name for name in ids if self.after is None or name > self.after)

    def page(self, rows: Iterable[Row], key: Callable[[Row], str]) -> Page[Row]:
        """Take this page from what is to come, in order of id; no more rows are worked out than it needs."""
        taken = tuple(islice(rows, self.limit + 1))
        shown, complete = taken[: self.limit], len(taken) <= self.limit
        return Page(rows=shown, complete=complete, next=None if complete else key(shown[-1]))


@dataclass(frozen=True, slots=True, kw_only=True)
class Page(Generic[Row]):
    """Some rows of a list, whether they are the last, and the id to go on after if they are not."""

    rows: tuple[Row, ...]
    complete: bool
    next: str | None


class PageTold(Told):
    """What every list says of itself. If it is not complete, ask again with `after` set to `next`."""

    release: ReleaseNamed
    complete: bool
    next: str | None
