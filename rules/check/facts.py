"""Units in the names of numeric facts, and sources that vouch for them."""

from __future__ import annotations

from collections.abc import Mapping

from rules.catalog.facts import UNITS, Fact, Source, has_unit
from rules.check.context import Context, Where
from rules.diagnostics import Code, quote
from rules.draft import Written
from rules.yaml_nodes import Step

MISSING_UNIT = Code(
    name="missing-unit",
    about="A numeric fact whose key does not end with a unit.",
    why="a number without a unit is read in whatever unit the reader is used to",
    hint=f"end the key with one of {', '.join(f'_{unit}' for unit in UNITS)}",
    example="geometry: {depth: 62}",
)
ASSUMED_SOURCE = Code(
    name="assumed-source",
    about="A source of kind `assumed` for anything but money.",
    why="an assumed fact would sell parts that do not fit",
    hint='measure it, or write `{unknown: "how to measure it"}`',
    example="source: {kind: assumed, ref: like the year before, date: 2026-02-01}",
)

CODES = (MISSING_UNIT, ASSUMED_SOURCE)


def check_units(
    context: Context, written: Written[object], path: tuple[Step, ...], facts: Mapping[str, Fact]
) -> None:
    """Report numeric facts without a unit."""
    for name, value in facts.items():
        if is_bare_number(name, value):
            span = written.key_at(*path, name)
            context.report(MISSING_UNIT, span, f"fact {quote(name)} is a number without a unit")


def is_bare_number(name: str, value: Fact) -> bool:
    """Tell whether a fact is a number that its name gives no unit."""
    return isinstance(value, int | float) and not isinstance(value, bool) and not has_unit(name)


def check_source(context: Context, source: Source | None, where: Where) -> None:
    """Report a source that only assumes."""
    if source is not None and source.kind == "assumed":
        context.report(ASSUMED_SOURCE, where, "only money may be assumed")
