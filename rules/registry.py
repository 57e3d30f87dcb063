"""All diagnostic codes, each declared once beside the check that reports it."""

from __future__ import annotations

from collections.abc import Mapping

from rules import (
    inherit,
    load,
    marks,
    names,
    provides,
    shape,
    spans,
    yaml_reader,
    yaml_scalars,
)
from rules.check import bikes, cases, cycles, facts, ids, parts, prices, selectors, wires
from rules.check import rules as rule_checks
from rules.diagnostics import Code
from rules.survey import codes as survey

CHAPTERS: Mapping[str, tuple[Code, ...]] = {
    "Files": load.CODES,
    "YAML": (*yaml_reader.CODES, *yaml_scalars.CODES),
    "Entries": (*shape.CODES, *names.CODES, *marks.CODES),
    "Names that nothing defines": ids.CODES,
    "Facts and sources": facts.CODES,
    "Model years and inheritance": (*spans.CODES, *inherit.CODES),
    "Bikes": bikes.CODES,
    "Plugs and wires": wires.CODES,
    "Parts": parts.CODES,
    "Rules": (*rule_checks.CODES, *selectors.CODES, *cycles.CODES, *provides.CODES),
    "Prices": prices.CODES,
    "Cases": cases.CODES,
    "Over all bikes and parts": survey.CODES,
}
"""Codes by what they are about, in the order of `docs/diagnostics.md`."""

CODES: Mapping[str, Code] = {code.name: code for codes in CHAPTERS.values() for code in codes}
"""Every code by its name."""
