"""Cases: questions with their expected answers, written by the catalog manager."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Discriminator, Field, Strict, Tag, model_validator
from pydantic_core import PydanticCustomError

from rules.catalog.entry import Day, Entry, Flag, Id, Money, NotNegative, Text
from rules.catalog.facts import Fact, Unknown
from rules.catalog.part import Kind, OwnPart

Balance = Annotated[int, Strict(), Field(ge=-(10**10), le=10**10)]
"""What is spent less what is fetched, in minor units."""

VerdictWord = Literal["fits", "fits_with", "not_verified", "does_not_fit"]
Fitter = Literal["shop", "home"]


class PlacedPart(Entry):
    """A part at a place."""

    part: Id
    place: Id


class FoundPart(PlacedPart):
    """A part found on a rider's bike, with what is known of it."""

    paid: Money | None = None
    fitted_on: Day | None = None
    fitter: Fitter | None = None


class Found(Entry):
    """What is known of one rider's own bike beyond its model: see `rules.build.AsFound`."""

    fitted: tuple[FoundPart, ...] = ()
    removed: tuple[PlacedPart, ...] = ()
    presets: tuple[Id, ...] = ()
    unknown_work: tuple[Id, ...] = ()
    measured: dict[str, Fact] = Field(default_factory=dict)
    wiring: dict[Text, Text] = Field(default_factory=dict)
    own_parts: tuple[OwnPart, ...] = ()


class StageAsked(Entry):
    """One visit in a question: its date, who fits, and how much it may cost."""

    date: Day
    fitter: Fitter = "shop"
    budget: Money | None = None


class Wanted(Entry):
    """One thing the rider wants at the end: a part, or any that is all that is said here; `by_visit` is the latest, from 1.

    `least_w` asks for a pair of speakers each of which gets at least this power [W].
    """

    part: Id | None = None
    place: Id | None = None
    zone: Id | None = None
    kind: Kind | None = None
    functions: tuple[Id, ...] = ()
    lines: tuple[Id, ...] = ()
    colour: Id | None = None
    most_kg: NotNegative | None = None
    least_w: NotNegative | None = None
    by_visit: int | None = None

    @model_validator(mode="after")
    def _wishes_something(self) -> Wanted:
        if not (self.part or self.place or self.zone or self.kind or self.functions):
            raise PydanticCustomError(
                "empty_selector", "a wish names at least one of part, place, zone, kind, functions"
            )
        return self


class CaseEntry(Entry):
    """What all cases share: a sentence that states the expectation, and why a shop owner would nod.

    A case that was drafted from an answer has no `why` yet, and counts for nothing until a person has written it.
    """

    name: Text
    why: Text | Unknown
    source: Text | None = None

    @property
    def is_draft(self) -> bool:
        """Tell whether nobody has written yet why the answer is right."""
        return isinstance(self.why, Unknown)


class FitCase(CaseEntry):
    """Does the part fit the bike?"""

    kind: Literal["fit"]
    bike: Id
    part: Id
    place: Id | None = None
    date: Day
    fitter: Fitter = "shop"
    found: Found | None = None
    verdict: VerdictWord
    rules: tuple[Id, ...] | None = None
    extras: tuple[Id, ...] | None = None
    total: Money | None = None
    missing: tuple[Text, ...] | None = None
    advice: tuple[Id, ...] | None = None


class CartCase(CaseEntry):
    """Is this cart complete and free of conflicts on this bike?"""

    kind: Literal["cart"]
    bike: Id
    parts: tuple[Id, ...] = Field(min_length=1)
    date: Day
    fitter: Fitter = "shop"
    found: Found | None = None
    verdict: VerdictWord
    rules: tuple[Id, ...] | None = None
    extras: tuple[Id, ...] | None = None
    total: Money | None = None


class ExpectedVisit(Entry):
    """What one visit of a path adds and removes, and its money."""

    adds: tuple[Id, ...] | None = None
    removes: tuple[Id, ...] | None = None
    total: Money | None = None


class PathCase(CaseEntry):
    """What is the cheapest path, and what does each visit cost?"""

    kind: Literal["path"]
    bike: Id
    found: Found | None = None
    stages: tuple[StageAsked, ...] = Field(min_length=1, max_length=6)
    wanted: tuple[Wanted, ...] = Field(min_length=1)
    budget: Money | None = None
    year_budgets: dict[str, Money] = Field(default_factory=dict)
    resale_counts: Flag = False
    excluded: tuple[Id, ...] = ()
    locked: tuple[PlacedPart, ...] = ()
    allow_rewiring: tuple[Id, ...] = ()
    colour: Id | None = None
    most_added_kg: NotNegative | None = None
    outcome: Literal["path", "no_path", "not_verified"]
    total: Money | None = None
    visits: tuple[ExpectedVisit, ...] | None = None


class CarryOverCase(CaseEntry):
    """What of the present build goes on to another bike?"""

    kind: Literal["carry_over"]
    bike: Id
    next_bike: Id
    found: Found | None = None
    date: Day
    carries: dict[Id, Literal["as_is", "with_adapter", "no", "not_verified"]] = Field(min_length=1)


class NextBikeCase(CaseEntry):
    """What does the next bike come to with the own parts, and what if all are sold and bought anew?

    Without `wanted`, the same zones as now. `takes` are the own parts that go along, `sells` the others; `net` is what it
    comes to, `new_net` what it comes to with everything new; both are below zero where more is fetched than spent.
    """

    kind: Literal["next_bike"]
    bike: Id
    next_bike: Id
    found: Found | None = None
    stages: tuple[StageAsked, ...] = Field(min_length=1, max_length=6)
    wanted: tuple[Wanted, ...] = ()
    takes: tuple[Id, ...] | None = None
    sells: tuple[Id, ...] | None = None
    net: Balance
    new_net: Balance | None = None


Case = Annotated[
    Annotated[FitCase, Tag("fit")]
    | Annotated[CartCase, Tag("cart")]
    | Annotated[PathCase, Tag("path")]
    | Annotated[CarryOverCase, Tag("carry_over")]
    | Annotated[NextBikeCase, Tag("next_bike")],
    Discriminator(
        lambda raw: raw.get("kind") if isinstance(raw, dict) else getattr(raw, "kind", None),
        custom_error_type="case_kind",
        custom_error_message="a case's kind is one of fit, cart, path, carry_over, next_bike",
    ),
]


class CaseFile(Entry):
    """One file in cases/."""

    cases: tuple[Case, ...] = Field(min_length=1)
