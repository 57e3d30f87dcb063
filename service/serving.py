"""What is being served: one release with its engine, pinned to a request from its first byte to its last."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import lru_cache

from rules.answer import FitAnswer
from rules.build import STOCK, AsFound
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.engine import Engine
from rules.errors import UnknownBike, UnknownId, UnknownPart
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
    """

    release: Release
    engine: Engine
    engine_revision: int = ENGINE_REVISION
    _remembered: Callable[[FitQuestion], FitAnswer] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        # One release never answers the same question otherwise, so an answer may be kept.
        object.__setattr__(self, "_remembered", lru_cache(maxsize=ANSWERS_KEPT)(self.engine.fit))

    @classmethod
    def of(cls, release: Release) -> Serving:
        """Compile the engine of a release."""
        return cls(release=release, engine=Engine(release.catalog))

    @property
    def catalog(self) -> Catalog:
        """The catalog of the release."""
        return self.release.catalog

    def catalog_of(self, found: AsFound) -> Catalog:
        """The catalog with the rider's own parts beside it: what an answer about this bike may name."""
        return widened(self.catalog, found.own_parts)

    @property
    def name(self) -> str:
        """What pins an answer: the same release under another engine revision may answer otherwise."""
        return f"{self.release.id}.{self.engine_revision}"

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

    def must_be(self, name: str) -> None:
        """Make sure that a pinned address means what is being served.

        Raises:
            UnknownRelease: It names another release, or another engine revision.
        """
        if name != self.name:
            raise UnknownRelease(name, [self.name])
