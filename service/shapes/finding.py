"""Findings as they are answered: rule, sentence, facts, calculation, and what would change it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any, Self

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
    """One figure that went into a calculation.

    `causes` are the facts that it is or comes from: where they stand among the causes of the finding, the first of which is 0.
    """

    name: str
    value: float
    unit: str
    causes: tuple[int, ...]

    @classmethod
    def from_domain(cls, entered: Entered, causes: Sequence[Cause]) -> Self:
        """Write an input, given the causes of the finding."""
        return cls(
            name=entered.name,
            value=entered.value,
            unit=entered.unit,
            causes=tuple(map(causes.index, entered.causes)),
        )


class CalculationTold(Told):
    """The calculation behind a finding: result and limit are in `unit`."""

    equation: str
    inputs: tuple[InputTold, ...]
    result: float
    limit: float
    unit: str

    @classmethod
    def from_domain(cls, calculation: Calculation, causes: Sequence[Cause]) -> Self:
        """Write a calculation, given the causes of the finding."""
        return cls(
            equation=calculation.equation,
            inputs=tuple(InputTold.from_domain(x, causes) for x in calculation.inputs),
            result=calculation.result,
            limit=calculation.limit,
            unit=calculation.unit,
        )


class BareFindingTold(Told):
    """Why something is refused or not verified, or what to mind, told where it is plain which part that is about."""

    rule: str
    status: Status
    sentence: str
    causes: tuple[CauseTold, ...]
    calculation: CalculationTold | None
    cure: str

    @classmethod
    def from_domain(cls, finding: Finding, catalog: Catalog) -> Self:
        """Write a finding."""
        return cls(**_reason(finding, catalog))


class FindingTold(BareFindingTold):
    """Why something is refused or not verified, or what to mind, and the parts whose being there causes it."""

    present: tuple[PlacementTold, ...]

    @classmethod
    def from_domain(cls, finding: Finding, catalog: Catalog) -> Self:
        """Write a finding."""
        return cls(**_reason(finding, catalog), present=placements_told(finding.present, catalog))


def _reason(finding: Finding, catalog: Catalog) -> dict[str, Any]:
    worked = finding.calculation
    return {
        "rule": finding.rule,
        "status": finding.status,
        "sentence": sentence(finding, catalog),
        "causes": causes_told(finding.causes),
        "calculation": CalculationTold.from_domain(worked, finding.causes) if worked else None,
        "cure": cure(finding, catalog),
    }


def causes_told(causes: Iterable[Cause]) -> tuple[CauseTold, ...]:
    """Write several causes in their order."""
    return tuple(CauseTold.from_domain(cause) for cause in causes)


def findings_told(findings: Iterable[Finding], catalog: Catalog) -> tuple[FindingTold, ...]:
    """Write several findings in their order."""
    return tuple(FindingTold.from_domain(finding, catalog) for finding in findings)
