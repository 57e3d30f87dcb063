"""`loomway check`: every fault of a catalog."""

from __future__ import annotations

from datetime import date
from importlib.metadata import version
from pathlib import Path
from typing import Literal

from rules.catalog.catalog import Catalog
from rules.diagnostics import Diagnostic, full, to_dict
from rules.load import check_catalog
from rules.registry import CODES
from service.shapes.catalog import Counts
from service.terminal.output import hint, say, say_json
from service.terminal.sarif import to_sarif

Form = Literal["words", "json", "sarif"]


def check_directory(directory: Path, *, survey_on: date | None, form: Form, strict: bool = False) -> int:
    """Check a catalog and tell what is wrong.

    Args:
        survey_on: The day for the survey of all bikes and parts; None for none.
        strict: Fail on warnings too.

    Returns: The exit code: 1 if there are errors.
    """
    # In SARIF a program looks for the files, so they are named as the caller named the directory.
    shown_as = directory.as_posix() if form == "sarif" else None
    catalog, diagnostics = check_catalog(directory, shown_as, survey_on=survey_on)
    _tell(catalog, diagnostics, form)
    return 1 if catalog is None or (strict and diagnostics) or _has_errors(diagnostics) else 0


def _has_errors(diagnostics: tuple[Diagnostic, ...]) -> bool:
    return any(diagnostic.severity == "error" for diagnostic in diagnostics)


def _tell(catalog: Catalog | None, diagnostics: tuple[Diagnostic, ...], form: Form) -> None:
    counts = Counts.from_domain(catalog) if catalog else None
    match form:
        case "sarif":
            say_json(to_sarif(diagnostics, CODES, version("loomway")))
        case "json":
            found = [to_dict(diagnostic) for diagnostic in diagnostics]
            say_json({"counts": counts.model_dump() if counts else None, "diagnostics": found})
        case "words":
            hint(*(full(diagnostic) for diagnostic in diagnostics))
            say(_summary(counts, diagnostics))


def _summary(counts: Counts | None, diagnostics: tuple[Diagnostic, ...]) -> str:
    warnings = sum(diagnostic.severity == "warning" for diagnostic in diagnostics)
    errors = len(diagnostics) - warnings
    verdict = f"{_many(errors, 'error')}, {_many(warnings, 'warning')}"
    if counts is None or errors:
        return f"Not sound: {verdict}."
    held = ", ".join(f"{number} {name.replace('_', ' ')}" for name, number in counts)
    return f"Sound: {verdict}. It holds {held}."


def _many(number: int, thing: str) -> str:
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"
