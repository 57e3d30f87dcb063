"""Diagnostics in SARIF, which code hosts and editors read.

Source: OASIS, Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard, 27 March 2020;
sections are named beside what they ask for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any
from urllib.parse import quote as in_uri

from rules.diagnostics import Code, Diagnostic, printable

Json = dict[str, Any]

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


def to_sarif(diagnostics: Sequence[Diagnostic], codes: Mapping[str, Code], version: str) -> Json:
    """Give a log with one run (3.13, 3.14).

    Args:
        codes: Every code by its name; those that were reported are described in the log.
        version: The version of the program.
    """
    rules = sorted({diagnostic.code for diagnostic in diagnostics})
    driver = {
        "name": "Loomway",
        "version": version,
        "rules": [_rule(codes[name]) for name in rules],
    }
    run = {
        "tool": {"driver": driver},
        # Columns count letters, as editors do, and not bytes or UTF-16 units (3.14.17).
        "columnKind": "unicodeCodePoints",
        "results": [_result(diagnostic, rules.index(diagnostic.code)) for diagnostic in diagnostics],
    }
    return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}


def _rule(code: Code) -> Json:
    """Describe a code (3.49)."""
    return {
        "id": code.name,
        "shortDescription": {"text": code.about},
        "fullDescription": {"text": f"{code.about} Why: {code.why}."},
        "help": {"text": f"What to do: {code.hint}."},
        "defaultConfiguration": {"level": code.severity},
    }


def _result(diagnostic: Diagnostic, rule_index: int) -> Json:
    """Give one diagnostic (3.27). The message is a sentence, so it ends with a full stop (3.11.2)."""
    said = f"{printable(diagnostic.message)}. Why: {diagnostic.why}. What to do: {printable(diagnostic.hint)}"
    return {
        "ruleId": diagnostic.code,
        "ruleIndex": rule_index,
        "level": diagnostic.severity,
        "message": {"text": said if said.endswith("?") else f"{said}."},
        "locations": [{"physicalLocation": _place(diagnostic)}],
    }


def _place(diagnostic: Diagnostic) -> Json:
    """Give where it is (3.29). `endColumn` is the first after the region (3.30.8), as in a span."""
    span = diagnostic.span
    region = {"startLine": span.line, "startColumn": span.column, "endColumn": span.end_column}
    return {"artifactLocation": {"uri": in_uri(span.file)}, "region": region}
