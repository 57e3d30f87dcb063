"""`loomway check`: every fault of a catalog."""

from __future__ import annotations

from pathlib import Path

from rules.diagnostics import Diagnostic, full, to_dict
from rules.load import check_catalog
from service.shapes.catalog import Counts
from service.terminal.output import hint, say, say_json


def check_directory(directory: Path, *, as_json: bool) -> int:
    """Check a catalog and tell what is wrong.

    Returns: The exit code: 1 if there are errors.
    """
    catalog, diagnostics = check_catalog(directory)
    counts = Counts.from_domain(catalog) if catalog else None
    if as_json:
        found = [to_dict(diagnostic) for diagnostic in diagnostics]
        say_json({"counts": counts.model_dump() if counts else None, "diagnostics": found})
    else:
        hint(*(full(diagnostic) for diagnostic in diagnostics))
        say(_summary(counts, diagnostics))
    return 0 if catalog else 1


def _summary(counts: Counts | None, diagnostics: tuple[Diagnostic, ...]) -> str:
    warnings = sum(diagnostic.severity == "warning" for diagnostic in diagnostics)
    errors = len(diagnostics) - warnings
    verdict = f"{_many(errors, 'error')}, {_many(warnings, 'warning')}"
    if counts is None:
        return f"Not sound: {verdict}."
    held = ", ".join(f"{number} {name.replace('_', ' ')}" for name, number in counts)
    return f"Sound: {verdict}. It holds {held}."


def _many(number: int, thing: str) -> str:
    return f"{number or 'no'} {thing}{'' if number == 1 else 's'}"
