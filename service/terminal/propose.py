"""What a command would write, shown as a difference; written when it is asked to, and only if the catalog stays sound."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from rules.diagnostics import Diagnostic, full
from rules.load import CatalogRefused
from service.authoring.proposal import Proposal, tried, write_all
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint, say


def propose(directory: Path, *proposals: Proposal, write: bool) -> None:
    """Show a proposal, and write it if asked to.

    Raises:
        CatalogRefused: The catalog would not be sound. Nothing is written.
        WrongCommand: A file cannot be written. It is as it was.
    """
    _, diagnostics = tried(directory, *proposals)
    errors = tuple(x for x in diagnostics if x.severity == "error")
    if errors:
        raise CatalogRefused(errors)
    for proposal in proposals:
        say(*proposal.diff.splitlines())
    _tell(diagnostics)
    if write:
        _write(directory, proposals)
    else:
        hint("nothing is written yet; add --write to do so")


def _tell(diagnostics: Iterable[Diagnostic]) -> None:
    for diagnostic in diagnostics:
        hint(full(diagnostic))


def _write(directory: Path, proposals: tuple[Proposal, ...]) -> None:
    try:
        write_all(directory, *proposals)
    except OSError as error:
        raise WrongCommand("the catalog cannot be written to; its files are as they were") from error
    for proposal in proposals:
        say(f"wrote {(directory / proposal.name).as_posix()}, {_many(proposal.added_lines)}")


def _many(lines: int) -> str:
    return f"{lines} new or changed line{'' if lines == 1 else 's'}"
