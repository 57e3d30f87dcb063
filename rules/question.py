"""Questions: what a storefront, a salesperson or a case asks, in domain terms."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, NamedTuple

from rules.build import STOCK, AsFound, Placement
from rules.catalog.part import Kind
from rules.ranks import CartLine, Ranks

Fitter = Literal["shop", "home"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FitQuestion:
    """Does this part fit this bike? Without a place: anywhere on it."""

    bike: str
    part: str
    place: str | None = None
    on: date
    fitter: Fitter = "shop"
    found: AsFound = STOCK


@dataclass(frozen=True, slots=True, kw_only=True)
class Want:
    """One thing wanted at the end: any one part that is all that is said here; `by` is the latest visit, counted from 1.

    Args:
        parts: Any one of these; left out, any part of the catalog.
        place: At this place.
        zone: At any place of this zone (fronts, rears, ...).
        kind: Of this kind.
        functions: With all of these tags.
        lines: Of one of these part lines.
        colour: In this colour.
        most_kg: With a known mass of at most this [kg].
        least_w: A speaker pair of which every speaker gets at least this rated power from its channel [W].
    """

    parts: tuple[str, ...] = ()
    place: str | None = None
    by: int | None = None
    zone: str | None = None
    kind: Kind | None = None
    functions: tuple[str, ...] = ()
    lines: tuple[str, ...] = ()
    colour: str | None = None
    most_kg: float | None = None
    least_w: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CartQuestion:
    """Are these parts together complete and free of conflicts on this bike?"""

    bike: str
    wants: tuple[Want, ...]
    on: date
    fitter: Fitter = "shop"
    found: AsFound = STOCK


class CartLines(NamedTuple):
    """A cart for a bike as it left the works, line by line, by the numbers of what these ask for, as `Ranks.number` has them."""

    bike: str
    numbers: tuple[int, ...]
    on: date
    fitter: Fitter
    ranks: Ranks

    @classmethod
    def of(cls, question: CartQuestion, ranks: Ranks) -> CartLines:
        """Write a question down, of which every line asks for one part."""
        numbers = tuple(ranks.number(CartLine(want.parts[0], want.place)) for want in question.wants)
        return cls(question.bike, numbers, question.on, question.fitter, ranks)

    @property
    def lines(self) -> tuple[CartLine, ...]:
        """What the lines ask for."""
        return tuple(self.ranks.lines[x] for x in self.numbers)

    @property
    def question(self) -> CartQuestion:
        """The question."""
        wants = tuple(Want(parts=(x.part,), place=x.place) for x in self.lines)
        return CartQuestion(bike=self.bike, wants=wants, on=self.on, fitter=self.fitter)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """One visit: its date, who fits, and the most that it may cost [minor units]."""

    on: date
    fitter: Fitter = "shop"
    budget: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PathQuestion:
    """What is the cheapest way from this bike to what is wanted, over these visits?

    Budgets are in minor units. `year_budgets` maps a calendar year to its cap. `allowed_rewiring` names parts whose
    removal or splicing the rider accepts, `may_go` what may be taken out though nothing wanted comes in
    at its place. `colour`: nothing that comes in is of another colour. `most_added_kg`: what comes in less what goes out
    weighs at most this after every visit [kg].
    """

    bike: str
    stages: tuple[Stage, ...]
    wants: tuple[Want, ...]
    found: AsFound = STOCK
    budget: int | None = None
    year_budgets: Mapping[int, int] = field(default_factory=dict)
    resale_counts: bool = False
    excluded: frozenset[str] = frozenset()
    locked: frozenset[Placement] = frozenset()
    allowed_rewiring: frozenset[str] = frozenset()
    may_go: frozenset[Placement] = frozenset()
    colour: str | None = None
    most_added_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOverQuestion:
    """Which parts of this build go on to another bike?"""

    bike: str
    next_bike: str
    on: date
    fitter: Fitter = "shop"
    found: AsFound = STOCK


@dataclass(frozen=True, slots=True, kw_only=True)
class NextBikeQuestion:
    """What is the cheapest way to these wants on the next bike with this build's own parts? No wants: the same zones as now."""

    bike: str
    next_bike: str
    stages: tuple[Stage, ...]
    wants: tuple[Want, ...] = ()
    found: AsFound = STOCK
