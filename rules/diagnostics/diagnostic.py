"""Diagnostics keep place and reason as data; `render` draws them only when they are shown."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal, NamedTuple

Severity = Literal["error", "warning"]


class Span(NamedTuple):
    """A stretch of one line of a file. Lines and columns count from 1; `end_column` is the first after it."""

    file: str
    line: int
    column: int
    end_column: int

    @property
    def place(self) -> str:
        """File and line, for naming a second place in a message."""
        return f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Code:
    """One kind of fault, declared beside the check that finds it.

    Attributes:
        name: What a diagnostic shows in brackets, in kebab-case.
        about: What the fault is, as a sentence for `docs/diagnostics.md`.
        why: The consequence, if the fault were let through.
        hint: One action that removes it. A report may give a closer one.
        example: YAML that has the fault, or a sentence where the fault is not in YAML.
    """

    name: str
    about: str
    why: str
    hint: str
    example: str
    severity: Severity = "error"


@dataclass(frozen=True, slots=True, kw_only=True)
class Diagnostic:
    """One fault at one place. `source_line` is the text of its line, where the file could be read."""

    code: str
    message: str
    span: Span
    why: str
    hint: str
    severity: Severity = "error"
    source_line: str = ""


@dataclass(slots=True)
class Collector:
    """Takes every fault of one run, each once, and gives them back by file and line."""

    _found: dict[tuple[str, Span, str], Diagnostic] = field(default_factory=dict)
    _blamed: set[tuple[str, int, int]] = field(default_factory=set)

    def report(self, code: Code, span: Span, message: str, hint: str | None = None) -> None:
        """Add a fault. `hint` replaces the code's own where a closer one is known."""
        self._blamed.add(span[:3])
        self._found.setdefault(
            (code.name, span, message),
            Diagnostic(
                code=code.name,
                message=message,
                span=span,
                why=code.why,
                hint=hint or code.hint,
                severity=code.severity,
            ),
        )

    def blames(self, span: Span) -> bool:
        """Tell whether something was already reported there, so that what follows from it stays unsaid."""
        return span[:3] in self._blamed

    @property
    def count(self) -> int:
        return len(self._found)

    @property
    def has_errors(self) -> bool:
        return any(found.severity == "error" for found in self._found.values())

    def sorted(self, texts: Mapping[str, Sequence[str]]) -> tuple[Diagnostic, ...]:
        """Give everything found, by file and line, with the source lines that it points at.

        Args:
            texts: The lines of each file that could be read.
        """
        return tuple(_with_line(found, texts) for found in sorted(self._found.values(), key=_order))


def _order(found: Diagnostic) -> tuple[Span, str, str]:
    return found.span, found.code, found.message


def _with_line(found: Diagnostic, texts: Mapping[str, Sequence[str]]) -> Diagnostic:
    lines = texts.get(found.span.file, ())
    index = found.span.line - 1
    return replace(found, source_line=lines[index]) if index < len(lines) else found


_LONGEST_SHOWN = 60
"""Letters of a value that a message shows: more would hide the message."""


def quote(word: object) -> str:
    """A word of the catalog as it stands in a message."""
    text = str(word)
    return f"`{text}`" if len(text) <= _LONGEST_SHOWN else f"`{text[:_LONGEST_SHOWN]}...`"


def names(ids: Iterable[str]) -> str:
    """Ids as they stand in a message: quoted, joined by commas."""
    return ", ".join(quote(name) for name in ids)
