"""Verdicts and findings: what the evaluator answers, as data. Sentences are made in `rules.explain`."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal, NamedTuple

from rules.build import Placement
from rules.catalog.facts import Source, Unknown, Value, YearSpan


class Verdict(StrEnum):
    """The answer to a fit question, best first."""

    FITS = "fits"
    FITS_WITH = "fits_with"
    NOT_VERIFIED = "not_verified"
    DOES_NOT_FIT = "does_not_fit"


class Status(StrEnum):
    """What a finding does to a build."""

    REFUSED = "refused"
    UNKNOWN = "unknown"
    ADVICE = "advice"
    CAUTION = "caution"


def is_missing(value: Value | Unknown | None) -> bool:
    """Tell whether nobody knows a fact of this value."""
    return value is None or isinstance(value, Unknown)


@dataclass(frozen=True, slots=True, kw_only=True)
class Cause:
    """One fact that a finding consulted.

    `fact` is its dotted name, `of` the part, place or bike that it belongs to. `span` is the model years that it holds for.
    """

    fact: str
    of: str
    value: Value | Unknown | None
    source: Source | None = None
    span: YearSpan | None = None

    @property
    def is_missing(self) -> bool:
        """Tell whether nobody knows this fact."""
        return is_missing(self.value)


class Entered(NamedTuple):
    """One figure that went into a calculation, its unit, and the facts that it is or comes from."""

    name: str
    value: float
    unit: str
    causes: tuple[Cause, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Calculation:
    """A calculation behind a finding: which one, with what, giving what, against which limit in the same `unit`."""

    equation: str
    inputs: tuple[Entered, ...]
    result: float
    limit: float
    unit: str


TrueOf = Literal["these", "kin", "as_heavy"]
"""Of what a law is as true: of no other parts; where nothing but plugs and links makes it so, of parts that no plug can tell from
these (`rules.bench.Bench.kin`); where the load of channels makes it so too, of those that load them no less (`as_heavy`)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """Why a build is refused or not verified, or what to mind.

    `rule` is the id of the catalog's rule or of a built-in check. `present` are the placements whose being there causes it;
    `repairs` the placements any of which, added, may clear it (empty: nothing that is added can). Together they are the law
    that the search learns: with all of `present` and none of `repairs`, no build is valid. `true_of` says of which other parts
    that is as true (`TrueOf`). `futile` are the repairs that figures of their own rule out: no law needs them, but the finding's
    causes do not tell of them.
    """

    rule: str
    status: Status
    present: frozenset[Placement]
    repairs: frozenset[Placement] = frozenset()
    causes: tuple[Cause, ...] = ()
    calculation: Calculation | None = None
    detail: str = ""
    true_of: TrueOf = "these"
    futile: frozenset[Placement] = field(default=frozenset(), compare=False, repr=False)

    @property
    def missing(self) -> tuple[Cause, ...]:
        """Give the causes that nobody knows."""
        return tuple(cause for cause in self.causes if cause.is_missing)
