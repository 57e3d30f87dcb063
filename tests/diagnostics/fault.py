"""A seeded fault: an edit of the base catalog, with the code and the place that the checker must report.

The place is worked out from the edited text: « and » stand around what the caret must point at. It never
comes from what the checker printed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from rules.diagnostics import Diagnostic, Span
from rules.load import check_catalog
from tests.diagnostics.base import FILES, write

OPEN, CLOSE = "«", "»"


@dataclass(frozen=True)
class Fault:
    """One fault.

    Attributes:
        code: What must be reported.
        title: What the author did wrong.
        edits: (file, old, new): the one occurrence of `old` becomes `new`.
        at: (file, marked text), where the place is not inside what was edited.
        files: Whole files to write, or, with None, to leave out.
        act: What no edit can do, such as a link.
        place: Where the fault is, if it is in no text.
        on: The day for the survey of all bikes and parts; None for a fault that reading alone finds.
        follows: Codes of what follows from the fault elsewhere, and may be reported too.
    """

    code: str
    title: str
    edits: tuple[tuple[str, str, str], ...] = ()
    at: tuple[str, str] | None = None
    files: Mapping[str, bytes | None] = field(default_factory=dict)
    act: Callable[[Path], None] | None = None
    place: Span | None = None
    on: date | None = None
    follows: frozenset[str] = frozenset()

    def seed(self, directory: Path) -> Span:
        """Write the catalog with its fault; give the place that must be reported."""
        texts = dict(FILES)
        for file, old, new in self.edits:
            assert texts[file].count(old) == 1, f"{self.title}: {old!r} must stand in {file} once"
            texts[file] = texts[file].replace(old, new)
        place = self.place or self.find(texts)
        write(directory, {file: unmarked(text) for file, text in texts.items()})
        for name, content in self.files.items():
            _put(directory / name, content)
        if self.act:
            self.act(directory)
        return place

    def find(self, texts: Mapping[str, str]) -> Span:
        if self.at is None:
            file = next(file for file, text in texts.items() if OPEN in text)
            return span_of(file, texts[file])
        file, snippet = self.at
        whole = unmarked(texts[file])
        assert whole.count(unmarked(snippet)) == 1, f"{self.title}: {snippet!r} must stand in {file} once"
        return span_of(file, whole.replace(unmarked(snippet), snippet))


def edit(code: str, title: str, file: str, old: str, new: str, at: str | None = None) -> Fault:
    """A fault made by one edit of one file."""
    return Fault(code, title, ((file, old, new),), at=None if at is None else (file, at))


def span_of(file: str, text: str) -> Span:
    """The place between the marks of a text."""
    before, _, rest = text.partition(OPEN)
    inside = rest.partition(CLOSE)[0]
    column = len(before) - (before.rfind("\n") + 1) + 1
    return Span(file, before.count("\n") + 1, column, column + len(inside))


def unmarked(text: str) -> str:
    return text.replace(OPEN, "").replace(CLOSE, "")


def check(directory: Path, on: date | None = None) -> tuple[Diagnostic, ...]:
    """All diagnostics of a catalog, with file names relative to it; with a day, those of the survey too."""
    return check_catalog(directory, shown_as="", survey_on=on)[1]


def is_flagged(fault: Fault, place: Span, found: tuple[Diagnostic, ...]) -> bool:
    """Tell whether the expected code came, exactly where the fault is, and nothing else but what follows from it."""
    own = [(each.code, each.span) for each in found if each.code not in fault.follows]
    return own == [(fault.code, place)]


def _put(path: Path, content: bytes | None) -> None:
    if content is None:
        path.unlink()
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
