"""The mark of a template: what a person still has to fill in."""

from __future__ import annotations

from rules.diagnostics import Code, Collector, quote
from rules.yaml_nodes import Node, scalars

MARK = "FILL IN"
"""Stands at the beginning of every text of a template that a person replaces."""

NOT_FILLED_IN = Code(
    name="not-filled-in",
    about="A text that a template marked for a person to fill in, and that nobody has.",
    why="riders and colleagues would read the template's words",
    hint="replace the whole text, mark and all",
    example='source: {kind: measured, ref: "FILL IN: which bike, which sheet", date: 2026-02-01}',
)

CODES = (NOT_FILLED_IN,)


def report_marks(node: Node, collector: Collector) -> None:
    """Report every text that still has the mark."""
    for scalar in scalars(node):
        if isinstance(scalar.value, str) and MARK in scalar.value:
            collector.report(NOT_FILLED_IN, scalar.span, f"{quote(scalar.value)} is a template's text")
