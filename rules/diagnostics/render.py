"""How a diagnostic is shown: one line for editors and logs, in full for people, as data for programs."""

from __future__ import annotations

import re

from rules.diagnostics.diagnostic import Diagnostic, Span

_UNPRINTABLE = re.compile(r"[^\x20-\x7e\u00a0-\u2027\u2030-\u2065\u2070-\ud7ff\uf900-\ufefe\uff00-\ufffd]")


def one_line(diagnostic: Diagnostic) -> str:
    """Place, code and message on one line, in the form that editors turn into a link."""
    span = diagnostic.span
    place = f"{span.file}:{span.line}:{span.column}"
    return f"{place}: {diagnostic.severity}[{diagnostic.code}]: {printable(diagnostic.message)}"


def full(diagnostic: Diagnostic) -> str:
    """The one-line form, the source line with a caret, why it matters and one thing to do."""
    shown = [one_line(diagnostic)]
    if diagnostic.source_line.strip():
        shown += _excerpt(diagnostic.span, diagnostic.source_line)
    shown += [f"  why: {printable(diagnostic.why)}", f"  hint: {printable(diagnostic.hint)}"]
    return "\n".join(shown)


def to_dict(diagnostic: Diagnostic) -> dict[str, str | int]:
    """The same as plain data for JSON."""
    return {
        "code": diagnostic.code,
        "severity": diagnostic.severity,
        "message": printable(diagnostic.message),
        "file": diagnostic.span.file,
        "line": diagnostic.span.line,
        "column": diagnostic.span.column,
        "end_column": diagnostic.span.end_column,
        "why": diagnostic.why,
        "hint": printable(diagnostic.hint),
    }


def _excerpt(span: Span, line: str) -> list[str]:
    # A very long line would bury the caret, so only the neighbourhood of the fault is shown.
    start = max(0, span.column - 80)
    text = printable(line[start : start + 160])
    width = max(1, min(span.end_column, start + len(text) + 1) - span.column)
    return [f"{span.line:>5} | {text}", f"      | {' ' * (span.column - 1 - start)}{'^' * width}"]


def printable(text: str) -> str:
    """Give a text without characters that move the cursor or hide others."""
    # One for one, so that columns stay where they are.
    return _UNPRINTABLE.sub("\ufffd", text)
