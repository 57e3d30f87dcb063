"""What is being served: one release with its engine, pinned to a request from its first byte to its last."""

from __future__ import annotations

from dataclasses import dataclass

from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.engine import Engine
from rules.errors import UnknownBike, UnknownId, UnknownPart
from rules.release import ENGINE_REVISION, Release


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

    @classmethod
    def of(cls, release: Release) -> Serving:
        """Compile the engine of a release."""
        return cls(release=release, engine=Engine(release.catalog))

    @property
    def catalog(self) -> Catalog:
        """The catalog of the release."""
        return self.release.catalog

    @property
    def name(self) -> str:
        """What pins an answer: the same release under another engine revision may answer otherwise."""
        return f"{self.release.id}.{self.engine_revision}"

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
