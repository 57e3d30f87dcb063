"""What is being served: one release with its engine, pinned to a request from its first byte to its last."""

from __future__ import annotations

import time
from dataclasses import dataclass, field, replace

from rules.answer import FitAnswer
from rules.build import AsFound
from rules.catalog.catalog import Catalog
from rules.catalog.part import Part
from rules.engine import Engine
from rules.errors import UnknownBike, UnknownId, UnknownPart
from rules.holds import HeldPart, holds_id, with_holds
from rules.own_parts import widened
from rules.question import FitQuestion
from rules.release import ENGINE_REVISION, Release
from service.storefront.cart_bodies import CartBodies
from service.storefront.carts import CartWriter
from service.storefront.table import Table

RELEASE_HEADER = "Loomway-Release"
NUMBER_HEADER = "Loomway-Release-Number"
"""Counts what is served; a client that sends it back as `Loomway-Min-Release` never reads anything older."""


class UnknownRelease(UnknownId):
    """A pinned address names a release or engine revision that is not served here."""

    what = "release"


class ReleaseGone(UnknownId):
    """A release that somebody keeps answers of cannot be compared with any more."""

    what = "release"


class UnknownLine(UnknownId):
    """The catalog has no part line of this id."""

    what = "line"


class ReleaseBehind(Exception):  # noqa: N818 -- it names what was found, like every exception here
    """The client has seen a later release than this process serves."""


def name_of(release: str, engine_revision: int, holds: tuple[HeldPart, ...]) -> str:
    """Name what answers: under another engine revision or other holds the same release may answer otherwise."""
    return ".".join(step for step in (release, str(engine_revision), holds_id(holds)) if step)


@dataclass(frozen=True, slots=True, kw_only=True)
class Serving:
    """A release and the engine that answers from it.

    They are swapped together, so that no answer mixes two.

    Attributes:
        release: Its catalog has the holds among its rules; its id is that of the release without them.
        holds: Set after the release was made.
        number: Of the event since which this is served; 0 where no database says what is served.
        name: What pins an answer.
        table: What was worked out about bikes as they left the works, as pieces of answers.
        carts: Writes answers to carts, from pieces as well.
        bodies: Reads what asks about carts, likewise.
        headers: What every answer says of it.
        since: Clock of this process when it was made ready [s].
        pieces: What the storefront has encoded once for all answers of this release, by name.
    """

    release: Release
    engine: Engine
    engine_revision: int = ENGINE_REVISION
    holds: tuple[HeldPart, ...] = ()
    number: int = 0
    name: str = field(init=False)
    table: Table = field(init=False, repr=False, compare=False)
    carts: CartWriter = field(init=False, repr=False, compare=False)
    bodies: CartBodies = field(init=False, repr=False, compare=False)
    pieces: dict[str, bytes] = field(init=False, repr=False, compare=False, default_factory=dict)
    since: float = field(init=False, repr=False, compare=False, default_factory=time.monotonic)
    headers: tuple[tuple[bytes, bytes], ...] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "table", Table(self.catalog))
        object.__setattr__(self, "carts", CartWriter(self.catalog, self.engine.tables.ranks))
        object.__setattr__(self, "bodies", CartBodies(self.engine.tables.ranks))
        object.__setattr__(self, "name", name_of(self.release.id, self.engine_revision, self.holds))
        named = ((RELEASE_HEADER, self.name), (NUMBER_HEADER, str(self.number)))
        headers = tuple((name.lower().encode(), value.encode()) for name, value in named)
        object.__setattr__(self, "headers", headers)

    @classmethod
    def of(cls, release: Release, holds: tuple[HeldPart, ...] = (), number: int = 0) -> Serving:
        """Compile the engine of a release with its holds."""
        held = replace(release, catalog=with_holds(release.catalog, holds)) if holds else release
        return cls(release=held, engine=Engine(held.catalog), holds=holds, number=number)

    def renumbered(self, number: int) -> Serving:
        """Serve the same since a later event, with all that was worked out."""
        later = replace(self, number=number)
        object.__setattr__(later, "table", self.table)
        object.__setattr__(later, "carts", self.carts)
        object.__setattr__(later, "bodies", self.bodies)
        return later

    @property
    def catalog(self) -> Catalog:
        """The catalog of the release."""
        return self.release.catalog

    def catalog_of(self, found: AsFound) -> Catalog:
        """The catalog with the rider's own parts beside it: what an answer about this bike may name."""
        return widened(self.catalog, found.own_parts)

    def fit(self, question: FitQuestion) -> FitAnswer:
        """Ask the engine."""
        return self.engine.fit(question)

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
