"""What a rider tells at the counter: the bike, how it is ridden, what is listened to, what annoys, and for which money."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from rules.build import AsFound
from rules.question import Stage

Rides = Literal["town", "country", "fast"]
"""Mostly in town; on country roads; on motorways or otherwise fast."""

Passenger = Literal["never", "sometimes", "often"]
Listens = Literal["speech", "music", "low_notes"]
"""Announcements and voices; music; music that lives of its low notes."""

Annoys = Literal["distorts", "thin", "wind", "passenger_hears_nothing", "broken"]
"""What is there rasps at the volume that is used; sounds thin; is lost in the wind; does not reach the passenger; fails."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Brief:
    """What is known of a rider's wishes. What nobody has asked yet is None, or empty.

    Attributes:
        found: The bike as found; `rules.build.STOCK` once the rider has said that nothing was changed.
        stages: The visits: today's and later ones, each with who fits and what it may cost.
        parked: Listens with the engine off, too.
        functions: Tags of the catalog that something in the system must have.
        colour: Of painted parts.
    """

    bike: str
    found: AsFound | None = None
    stages: tuple[Stage, ...] = ()
    budget: int | None = None
    year_budgets: Mapping[int, int] = field(default_factory=dict)
    rides: Rides | None = None
    passenger: Passenger | None = None
    listens: frozenset[Listens] = frozenset()
    annoys: frozenset[Annoys] = frozenset()
    parked: bool = False
    functions: tuple[str, ...] = ()
    colour: str | None = None

    def says(self, word: Annoys | Listens) -> bool:
        """Tell whether something annoys, or is listened to."""
        return word in self.annoys or word in self.listens


@dataclass(frozen=True, slots=True, kw_only=True)
class Unasked:
    """Something that must be known before anything is proposed, and how to ask for it."""

    field: str
    ask: str


def unasked(brief: Brief) -> tuple[Unasked, ...]:
    """Give what nobody has asked the rider yet, in the order of the conversation."""
    return tuple(_unasked(brief))


def _unasked(brief: Brief) -> Iterator[Unasked]:
    if brief.found is None:
        yield Unasked(field="found", ask="What was changed on the bike since it left the works, and by whom?")
    if brief.rides is None:
        yield Unasked(field="rides", ask="Where do you ride most: in town, on country roads, or fast?")
    if brief.passenger is None:
        yield Unasked(field="passenger", ask="How often does somebody ride with you?")
    if not brief.listens:
        yield Unasked(
            field="listens", ask="What do you listen to: voices, music, music with a lot of low notes?"
        )
    if not brief.stages:
        yield Unasked(field="visits", ask="When may we work on it, who fits, and what may each visit cost?")
