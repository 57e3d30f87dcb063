"""Events of the history, and what is served after them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal

from rules.holds import HeldPart

Kind = Literal["activated", "rolled_back", "refused", "held", "lifted"]
SERVES: tuple[Kind, ...] = ("activated", "rolled_back")


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEvent:
    """What somebody does: everything of an event but its number.

    Attributes:
        release: What is served from now on, or was refused.
        part: What is held, with `first` and `last` day.
        lifts: The number of the hold that ends.
        why: The reason that the person gave; of a hold, what shoppers are told.
        detail: What came of it, in a sentence: why a release was refused.
    """

    kind: Kind
    by: str
    at: datetime
    why: str
    release: str | None = None
    part: str | None = None
    first: date | None = None
    last: date | None = None
    lifts: int | None = None
    detail: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Event(NewEvent):
    """Something that happened. Numbers count from 1 without a gap."""

    number: int

    @property
    def held(self) -> HeldPart:
        """The hold that this event set."""
        return HeldPart(part=self.part or "", first=self.first or date.min, last=self.last, says=self.why)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """What holds after an event: the release that is served, and the holds that are set, each by its event.

    Attributes:
        number: Of the latest event; 0 before the first.
        refused: The latest refusal since the release was activated.
    """

    number: int = 0
    active: Event | None = None
    holds: tuple[Event, ...] = ()
    refused: Event | None = None

    @property
    def release(self) -> str | None:
        """The release that is served."""
        return self.active.release if self.active else None

    @property
    def held(self) -> tuple[HeldPart, ...]:
        """The holds that are set."""
        return tuple(event.held for event in self.holds)


class Overtaken(Exception):  # noqa: N818 -- it names what happened, like every exception here
    """Somebody else changed what is served, or a hold, in the meantime."""

    def __init__(self, standing: Standing) -> None:
        self.standing = standing
        super().__init__(
            "somebody else changed this in the meantime; look at what is served now, and ask again"
        )
