"""Answers to the questions of `rules.question`, as data; the service and the command line turn them into words and JSON."""

from __future__ import annotations

from dataclasses import dataclass, fields
from datetime import date
from functools import cache
from typing import Any, Literal, TypeVar

from rules.build import Build, Placement
from rules.money import Line
from rules.net import Wiring
from rules.question import Fitter
from rules.verdict import Cause, Finding, Verdict

T = TypeVar("T", bound="Judgement")

ChangeKind = Literal["kept", "connected", "released", "inserted", "extracted", "re-plugged", "rewired"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What happens to a connection, or to a part's wires, from one build to the next.

    `first` and `second` name the two connectors, `PART@PLACE:CONNECTOR` or `loom:CONNECTOR`. Of what is rewired, `first` is
    the part that is pulled out or spliced in; or, where a zone is moved, the channel that fed it, with `second` the one that does.
    """

    kind: ChangeKind
    first: str
    second: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Feed:
    """One speaker of a build and the channel that feeds it; `load_ohm` is the whole load on that channel, if it is known."""

    place: str
    side: str
    speaker: str
    source: Placement
    channel: str
    load_ohm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetMade:
    """A preset made for an amplifier by a service part."""

    amplifier: Placement
    service: str
    days: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Judgement:
    """What was found of parts asked for together on one bike.

    `findings` holds what refuses (or leaves open, with the facts to measure); `extras` and `presets` what is needed besides;
    `lines` and `total` the money of the parts with their extras at the question's date, None if they cannot be had.
    `rewires` tells of a yes whether something laid or fed earlier is cut, pulled out or moved for it. `ask` is what a person
    must be asked first.
    """

    verdict: Verdict
    findings: tuple[Finding, ...] = ()
    extras: tuple[Placement, ...] = ()
    displaced: tuple[Placement, ...] = ()
    presets: tuple[PresetMade, ...] = ()
    lines: tuple[Line, ...] = ()
    total: int | None = None
    advice: tuple[Finding, ...] = ()
    changes: tuple[Change, ...] = ()
    feeds: tuple[Feed, ...] = ()
    rewires: bool = False
    missing: tuple[Cause, ...] = ()
    ask: str = ""

    def told_as(self, kind: type[T], **about: object) -> T:
        """Give this judgement as an answer: the same, and what it is about."""
        shared: dict[str, Any] = {name: getattr(self, name) for name in _of_judgements()}
        return kind(**{**shared, **about})


@cache
def _of_judgements() -> tuple[str, ...]:
    return tuple(field.name for field in fields(Judgement))


@dataclass(frozen=True, slots=True, kw_only=True)
class FitAnswer(Judgement):
    """The answer for one part at one place of one bike, or the best over all its places.

    `alternatives` are other places and parts that were checked and do fit. `places` has one answer for every place.
    """

    bike: str
    part: str
    place: str | None
    alternatives: tuple[Placement, ...] = ()
    places: tuple[FitAnswer, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class CartAnswer(Judgement):
    """The answer for a whole cart: where everything goes, what is missing, and what it costs complete."""

    bike: str
    placed: tuple[Placement, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """One stage of a plan: what is done, what it costs, and the build that is ridden afterwards.

    `stays` are the placements of this visit that are still there at the end. `spent` is before resale. `wiring` is how the
    bike is plugged together afterwards, None where it was not looked at since nothing was done to it yet.
    """

    on: date
    fitter: Fitter
    adds: tuple[Placement, ...]
    removes: tuple[Placement, ...]
    presets: tuple[PresetMade, ...]
    lines: tuple[Line, ...]
    spent: int
    resale: int
    build: Build
    stays: tuple[Placement, ...]
    changes: tuple[Change, ...]
    feeds: tuple[Feed, ...]
    advice: tuple[Finding, ...]
    wiring: Wiring | None = None

    @property
    def is_empty(self) -> bool:
        """Tell whether nothing is done in this visit."""
        return not (self.adds or self.removes or self.presets)


@dataclass(frozen=True, slots=True, kw_only=True)
class LedgerPart:
    """One entry of a plan's ledger: a part, what was paid for it, and what becomes of it. Money in minor units.

    `paid`, `on` and `fitter` are None where nobody knows them; `visit` counts from 1, and is None for what was there before.
    A part that a `bundle` brought and nobody needs has no place. What does not stay is sold on at the visit `sold_at`.
    """

    part: str
    place: str | None
    paid: int | None
    on: date | None
    fitter: str | None
    visit: int | None = None
    bundle: str | None = None
    stays: bool
    sold_at: int | None
    resale: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Proof:
    """Whether a plan is the cheapest: `proven`, or the best found with the bound that the search had reached [minor units]."""

    state: Literal["proven", "best_found"]
    bound: int

    @property
    def is_proven(self) -> bool:
        """Tell whether no cheaper plan exists."""
        return self.state == "proven"


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """The cheapest path: its visits and its money. `total` = `spent` - `resale`; `waste` of `spent` is gone at the end.

    `ledger` tells of every part what was paid and what becomes of it. `start_wiring` is how the bike is plugged together now.
    `lost_to_missing_facts` names parts that might have been cheaper but are not verified, with what to measure.
    """

    visits: tuple[Visit, ...]
    spent: int
    resale: int
    waste: int
    proof: Proof
    ledger: tuple[LedgerPart, ...] = ()
    start_wiring: Wiring | None = None
    lost_to_missing_facts: tuple[Cause, ...] = ()

    @property
    def total(self) -> int:
        """Give the cost after resale."""
        return self.spent - self.resale


@dataclass(frozen=True, slots=True, kw_only=True)
class Conflict:
    """One of the demands that cannot be had together: `kind` names it, `about` says which."""

    kind: Literal[
        "want",
        "budget",
        "year_budget",
        "path_budget",
        "availability",
        "no_rewiring",
        "rule",
        "locked",
        "excluded",
        "colour",
        "mass",
        "fitter",
    ]
    about: str


CureKind = Literal[
    "raise_budget",
    "raise_year_budget",
    "raise_path_budget",
    "later",
    "another_visit",
    "at_the_shop",
    "unlock",
    "allow_part",
    "any_colour",
    "any_mass",
    "rewire",
    "leave_out",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """One change of a question that makes a path, and what the cheapest plan costs then [minor units].

    `about` says of which demand. `more` is the least by which a budget must rise [minor units], `visit` the first visit (counted
    from 1) by which a thing can be there, `on` the day of one visit more, with all that is asked of the last one.
    """

    kind: CureKind
    about: str
    total: int
    more: int | None = None
    visit: int | None = None
    on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPlan:
    """There is no path: the demands that conflict, each necessary, together sufficient; or the facts that leave it open.

    `cures` are changes each of which, alone, makes a path, cheapest first.
    """

    reason: Literal["conflict", "not_verified"]
    conflicts: tuple[Conflict, ...] = ()
    findings: tuple[Finding, ...] = ()
    missing: tuple[Cause, ...] = ()
    cures: tuple[Cure, ...] = ()
    ask: str = ""


CarryWord = Literal["as_is", "with_adapter", "no", "not_verified"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOver:
    """Whether one part goes on to the next bike: where to, with which adapters, or why not; and what it would fetch used.

    `paid` is what was paid for it, None where nobody knows.
    """

    part: str
    from_place: str
    answer: CarryWord
    to_place: str | None
    extras: tuple[Placement, ...]
    findings: tuple[Finding, ...]
    missing: tuple[Cause, ...]
    resale: int
    paid: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CarryOverAnswer:
    """All parts of a build that are not stock, each with its answer."""

    bike: str
    next_bike: str
    parts: tuple[CarryOver, ...]
    ask: str = ""
