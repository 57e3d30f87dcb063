"""`loomway import` and `loomway export`: prices and parts as tables."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from pathlib import Path

from rules.diagnostics import Collector, Diagnostic, Span, full
from service.authoring.csv_table import LARGEST_TABLE, TABLE_UNREADABLE, Cell
from service.authoring.export import export_parts, export_prices
from service.authoring.import_parts import LineAsked, import_parts
from service.authoring.import_prices import Imported, ListAsked, import_prices
from service.authoring.proposal import neighbours, tried
from service.terminal.mistakes import WrongCommand
from service.terminal.output import hint, say
from service.terminal.propose import propose

Import = Callable[[str, str, Collector], Imported | None]


def take_prices(directory: Path, table: Path, into: str, asked: ListAsked, *, write: bool) -> int:
    """Propose the prices of a table; give the exit code, 1 if the table has faults."""
    return _take(
        directory,
        table,
        lambda text, name, collector: import_prices(directory, text, name, into, asked, collector),
        write=write,
    )


def take_parts(directory: Path, table: Path, into: str, asked: LineAsked, *, write: bool) -> int:
    """Propose the parts of a table; give the exit code, 1 if the table has faults."""
    return _take(
        directory,
        table,
        lambda text, name, collector: import_parts(directory, text, name, into, asked, collector),
        write=write,
    )


def give_prices(directory: Path, price_list: str) -> None:
    """Print a price list as a table."""
    sys.stdout.write(export_prices(neighbours(directory), price_list))


def give_parts(directory: Path, line: str) -> None:
    """Print a line of parts as a table."""
    sys.stdout.write(export_parts(neighbours(directory), line))


def _take(directory: Path, table: Path, take: Import, *, write: bool) -> int:
    collector = Collector()
    text = _text(table, collector)
    imported = None if text is None else take(text, table.name, collector)
    lines = {table.name: (text or "").splitlines()}
    if imported is not None:
        _, found = tried(directory, imported.proposal)
        errors = [x for x in found if x.severity == "error"]
        return _settle(directory, imported, _in_table(errors, imported.cells, lines), write=write)
    return _refuse(collector.sorted(lines))


def _settle(directory: Path, imported: Imported, errors: Iterable[Diagnostic], *, write: bool) -> int:
    refused = tuple(errors)
    if refused:
        return _refuse(refused)
    if imported.proposal.after == imported.proposal.before:
        say("nothing changes")
        return 0
    propose(directory, imported.proposal, write=write)
    return 0


def _refuse(found: Iterable[Diagnostic]) -> int:
    for diagnostic in found:
        hint(full(diagnostic))
    hint("nothing is written")
    return 1


def _text(table: Path, collector: Collector) -> str | None:
    try:
        data = table.read_bytes()
    except OSError as error:
        raise WrongCommand(f"{table}: this file cannot be read") from error
    if len(data) > LARGEST_TABLE:
        raise WrongCommand(f"{table}: a table has at most {LARGEST_TABLE:,} bytes; split it")
    try:
        # Programs that write tables like to begin them with a byte order mark.
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        collector.report(TABLE_UNREADABLE, Span(table.name, 1, 1, 2), "the table is not text in UTF-8")
        return None


def _in_table(
    found: Iterable[Diagnostic], cells: Mapping[tuple[int, int], Cell], lines: Mapping[str, list[str]]
) -> list[Diagnostic]:
    """Show each fault at the cell that it comes from; one that comes from none stays where it is."""
    moved = [_moved(diagnostic, cells, lines) for diagnostic in found]
    return sorted(moved, key=lambda diagnostic: (diagnostic.span, diagnostic.code))


def _moved(
    diagnostic: Diagnostic, cells: Mapping[tuple[int, int], Cell], lines: Mapping[str, list[str]]
) -> Diagnostic:
    cell = cells.get(diagnostic.span[1:3])
    if cell is None:
        return diagnostic
    listed = lines[cell.span.file]
    shown = listed[cell.span.line - 1] if cell.span.line <= len(listed) else ""
    return replace(diagnostic, span=cell.span, source_line=shown)
