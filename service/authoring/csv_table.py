"""A table from elsewhere, in comma-separated values: each cell with the place where it begins.

Python's own reader gives no columns, and a fault must be found in a row of forty cells.
Source of the form: RFC 4180 (Shafranovich, October 2005), section 2; the first line holds the names of the columns.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rules.diagnostics import Code, Collector, Span, quote

LARGEST_TABLE = 20_000_000
"""Bytes. A table of twenty thousand parts has about four million."""

TABLE_UNREADABLE = Code(
    name="table-unreadable",
    about="A table that is not comma-separated text in UTF-8, or has a quote that is not closed.",
    why="cells would run into one another",
    hint="save it as CSV in UTF-8, with commas",
    example='id,name\ntern_pod,"Tern pod',
)
TABLE_COLUMN = Code(
    name="table-column",
    about="A column that this kind of table does not have, has twice, or lacks.",
    why="its cells would be lost, or there would be nothing to go by",
    hint="use the names that `loomway export` writes",
    example="id,nmae",
)
TABLE_ROW = Code(
    name="table-row",
    about="A row with more or fewer cells than the table has columns.",
    why="its cells would be taken for others",
    hint="check the commas; text with a comma stands in quotes",
    example="tern_pod,209.00,60.00,",
)
TABLE_CELL = Code(
    name="table-cell",
    about="A cell that holds something else than its column does.",
    why="a guess at what was meant would be sold",
    hint="correct the cell",
    example="tern_pod,2 09",
)
TABLE_REPEATED = Code(
    name="table-repeated",
    about="Two rows about the same part.",
    why="only one of them could hold",
    hint="delete one of them",
    example="tern_pod,209.00\ntern_pod,219.00",
)
PRICE_JUMP = Code(
    name="price-jump",
    about="A price of five times the part's last one or more, or of a fifth of it or less.",
    why="it is more often a slip of the point than a price",
    hint="correct it, or import with --accept-jumps",
    example="tern_pod,20900  # and it was 209.00",
)

CODES = (TABLE_UNREADABLE, TABLE_COLUMN, TABLE_ROW, TABLE_CELL, TABLE_REPEATED, PRICE_JUMP)


@dataclass(frozen=True, slots=True)
class Cell:
    """A cell's text, without quotes and without spaces around it, and where it stands."""

    text: str
    span: Span


@dataclass(frozen=True, slots=True)
class Table:
    """Rows by the names of their columns. Empty cells are left out."""

    columns: tuple[str, ...]
    rows: tuple[dict[str, Cell], ...]


def read_table(
    text: str, file: str, collector: Collector, *, known: Sequence[str], needed: str
) -> Table | None:
    """Read a table.

    Args:
        file: Its name, for diagnostics.
        known: Names of columns; one that ends with `.` stands for every column that begins so.
        needed: The column without which there is nothing to go by.

    Returns: The table, or None if its columns make no sense; rows at fault are reported and left out.
    """
    records = list(_records(text, file, collector))
    if collector.has_errors:
        return None
    if not records:
        collector.report(TABLE_COLUMN, Span(file, 1, 1, 2), "the table is empty")
        return None
    header, *rows = records
    if not _check_header(header, collector, known, needed):
        return None
    columns = tuple(cell.text for cell in header)
    return Table(columns, tuple(_rows(columns, rows, needed, collector)))


def _check_header(header: list[Cell], collector: Collector, known: Sequence[str], needed: str) -> bool:
    """Report columns that make no sense. Tells whether all do."""
    before = collector.count
    seen: set[str] = set()
    for cell in header:
        is_known = any(
            cell.text == name or (name.endswith(".") and cell.text.startswith(name)) for name in known
        )
        if not is_known:
            collector.report(
                TABLE_COLUMN, cell.span, f"there is no column {quote(cell.text)} in such a table"
            )
        elif cell.text in seen:
            collector.report(TABLE_COLUMN, cell.span, f"column {quote(cell.text)} is there twice")
        seen.add(cell.text)
    if needed not in seen:
        collector.report(TABLE_COLUMN, header[0].span, f"the table has no column {quote(needed)}")
    return collector.count == before


def _rows(
    columns: tuple[str, ...], rows: list[list[Cell]], needed: str, collector: Collector
) -> Iterator[dict[str, Cell]]:
    first: dict[str, Cell] = {}
    for cells in rows:
        if len(cells) != len(columns):
            message = f"this row has {len(cells)} cells, and the table {len(columns)} columns"
            collector.report(TABLE_ROW, cells[0].span, message)
            continue
        row = {name: cell for name, cell in zip(columns, cells, strict=True) if cell.text}
        if needed not in row:
            collector.report(TABLE_CELL, cells[columns.index(needed)].span, f"this row has no {needed}")
            continue
        own = row[needed]
        if own.text in first:
            message = f"{quote(own.text)} is in line {first[own.text].span.line} already"
            collector.report(TABLE_REPEATED, own.span, message)
            continue
        first[own.text] = own
        yield row


def _records(text: str, file: str, collector: Collector) -> Iterator[list[Cell]]:
    """Cut a text into records of cells; empty lines are passed over."""
    reader = _Reader(text, file)
    while not reader.is_done:
        record = reader.record()
        if record is None:
            collector.report(
                TABLE_UNREADABLE, reader.here(), "a quote is not closed, or something follows it"
            )
            return
        if any(cell.text for cell in record):
            yield record


class _Reader:
    """A place in a text that moves on, with its line and column."""

    def __init__(self, text: str, file: str) -> None:
        self.text = text.replace("\r\n", "\n").replace("\r", "\n")
        self.file = file
        self.at = 0
        self.line = 1
        self.line_start = 0

    @property
    def is_done(self) -> bool:
        return self.at >= len(self.text)

    def here(self, width: int = 1) -> Span:
        column = self.at - self.line_start + 1
        return Span(self.file, self.line, column, column + max(width, 1))

    def record(self) -> list[Cell] | None:
        """Take one record with its line end; None if a quote goes wrong."""
        cells = []
        while True:
            cell = self.quoted() if self.text.startswith('"', self.at) else self.plain()
            if cell is None:
                return None
            cells.append(cell)
            if not self.text.startswith(",", self.at):
                break
            self.at += 1
        if not self.is_done and self.text[self.at] != "\n":
            return None
        self.skip_line_end()
        return cells

    def plain(self) -> Cell:
        ends = [
            found for found in (self.text.find(",", self.at), self.text.find("\n", self.at)) if found >= 0
        ]
        end = min(ends, default=len(self.text))
        raw = self.text[self.at : end]
        lead = len(raw) - len(raw.lstrip())
        self.at += lead
        cell = Cell(raw.strip(), self.here(len(raw.strip())))
        self.at = end
        return cell

    def quoted(self) -> Cell | None:
        span, at = self.here(), self.at + 1
        while True:
            end = self.text.find('"', at)
            if end < 0:
                return None
            if not self.text.startswith('""', end):
                break
            at = end + 2
        raw = self.text[self.at + 1 : end]
        self.count_lines(end)
        self.at = end + 1
        width = len(raw.partition("\n")[0]) + 2
        return Cell(raw.replace('""', '"').strip(), span._replace(end_column=span.column + width))

    def count_lines(self, to: int) -> None:
        inside = self.text.count("\n", self.at, to)
        if inside:
            self.line += inside
            self.line_start = self.text.rfind("\n", self.at, to) + 1

    def skip_line_end(self) -> None:
        self.at += 1
        self.line += 1
        self.line_start = self.at
