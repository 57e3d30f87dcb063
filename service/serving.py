"""What is being served: one release with its engine, pinned to a request from its first byte to its last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import lru_cache

from rules.answer import FitAnswer
from rules.build import STOCK, AsFound
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.engine import Engine
from rules.errors import UnknownBike, UnknownId, UnknownPart
from rules.holds import HeldPart, holds_id, with_holds
from rules.own_parts import widened
from rules.question import FitQuestion
from rules.release import ENGINE_REVISION, Release

ANSWERS_KEPT = 4_096
"""Answers about bikes as they left the works: lists and the storefront ask the same ones all day."""


class UnknownRelease(UnknownId):
    """A pinned address names a release or engine revision that is not served here."""

    what = "release"


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """A release and the engine that answers from it.

    They are swapped together, so that no answer mixes two.

    Attributes:
        release: Its catalog has the holds among its rules; its id is that of the release without them.
        holds: Set after the release was made.
        number: Of the event since which this is served; 0 where no database says what is served.
    """

    release: Release
    engine: Engine
    engine_revision: int = ENGINE_REVISION
    holds: tuple[HeldPart, ...] = ()
    number: int = 0
    _remembered: Callable[[FitQuestion], FitAnswer] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        # One release never answers the same question otherwise, so an answer may be kept.
        object.__setattr__(self, "_remembered", lru_cache(maxsize=ANSWERS_KEPT)(self.engine.fit))

    @classmethod
    def of(cls, release: Release, holds: tuple[HeldPart, ...] = (), number: int = 0) -> Serving:
        """Compile the engine of a release with its holds."""
        held = replace(release, catalog=with_holds(release.catalog, holds)) if holds else release
        return cls(release=held, engine=Engine(held.catalog), holds=holds, number=number)

    @property
    def catalog(self) -> Catalog:
        """The catalog of the release."""
        return self.release.catalog

    def catalog_of(self, found: AsFound) -> Catalog:
        """The catalog with the rider's own parts beside it: what an answer about this bike may name."""
        return widened(self.catalog, found.own_parts)

    @property
    def name(self) -> str:
        """What pins an answer: under another engine revision or other holds the same release may answer otherwise."""
        steps = (self.release.id, str(self.engine_revision), holds_id(self.holds))
        return ".".join(step for step in steps if step)

    def fit(self, question: FitQuestion) -> FitAnswer:
        """Ask the engine, or remember what it said. A rider's own bike is not asked about twice."""
        if question.found != STOCK:
            return self.engine.fit(question)
        return self._remembered(question)

    def bike_name(self, asked: str) -> str:
        """Give back the id of a bike, or a name that stands for several.

        Raises:
            UnknownBike: It is neither.
        """
        if asked not in self.catalog.bikes and asked not in self.catalog.ambiguous:
            raise UnknownBike(asked, [*self.catalog.bikes, *self.catalog.ambiguous])
        return asked

    def part(self, asked: str) -> Part:
        """Give the part of an id.

        Raises:
            UnknownPart: There is none.
        """
        if asked not in self.catalog.parts:
            raise UnknownPart(asked, self.catalog.parts)
        return self.catalog.parts[asked]
