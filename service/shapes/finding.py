"""Findings as they are answered: rule, sentence, facts, calculation, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Self

from rules.catalog.catalog import Catalog
from rules.explain import cure, how_to_find, sentence
from rules.verdict import Calculation, Cause, Entered, Finding, Status
from service.shapes.base import RecordedValue, Told
from service.shapes.fact import SourceTold, YearSpanTold, known
from service.shapes.placement import PlacementTold, placements_told


class CauseTold(Told):
    """One fact that a finding looked at.

    `of` is the part, place or bike that it belongs to; `span` the model years it holds for.
    """

    fact: str
    of: str
    value: RecordedValue | None
    measure: str | None
    source: SourceTold | None
    span: YearSpanTold | None

    @classmethod
    def from_domain(cls, cause: Cause) -> Self:
        """Write a cause."""
        return cls(
            fact=cause.fact,
            of=cause.of,
            value=known(cause.value),
            measure=how_to_find(cause) if cause.is_missing else None,
            source=SourceTold.from_domain(cause.source) if cause.source else None,
            span=YearSpanTold.from_domain(cause.span) if cause.span else None,
        )


class InputTold(Told):
    """One figure that went into a calculation, and the facts that it is or comes from."""

    name: str
    value: float
    unit: str
    causes: tuple[CauseTold, ...]

    @classmethod
    def from_domain(cls, entered: Entered) -> Self:
        """Write an input."""
        return cls(
            name=entered.name,
            value=entered.value,
            unit=entered.unit,
            causes=tuple(CauseTold.from_domain(cause) for cause in entered.causes),
        )


class CalculationTold(Told):
    """The calculation behind a finding: result and limit are in `unit`."""

    equation: str
    inputs: tuple[InputTold, ...]
    result: float
    limit: float
    unit: str

    @classmethod
    def from_domain(cls, calculation: Calculation) -> Self:
        """Write a calculation."""
        return cls(
            equation=calculation.equation,
            inputs=tuple(map(InputTold.from_domain, calculation.inputs)),
            result=calculation.result,
            limit=calculation.limit,
            unit=calculation.unit,
        )


class FindingTold(Told):
    """Why something is refused or not verified, or what to mind."""

    rule: str
    status: Status
    sentence: str
    causes: tuple[CauseTold, ...]
    calculation: CalculationTold | None
    present: tuple[PlacementTold, ...]
    cure: str

    @classmethod
    def from_domain(cls, finding: Finding, catalog: Catalog) -> Self:
        """Write a finding."""
        return cls(
            rule=finding.rule,
            status=finding.status,
            sentence=sentence(finding, catalog),
            causes=causes_told(finding.causes),
            calculation=CalculationTold.from_domain(finding.calculation) if finding.calculation else None,
            present=placements_told(finding.present, catalog),
            cure=cure(finding, catalog),
        )


def causes_told(causes: Iterable[Cause]) -> tuple[CauseTold, ...]:
    """Write several causes in their order."""
    return tuple(CauseTold.from_domain(cause) for cause in causes)


def findings_told(findings: Iterable[Finding], catalog: Catalog) -> tuple[FindingTold, ...]:
    """Write several findings in their order."""
    return tuple(FindingTold.from_domain(finding, catalog) for finding in findings)
