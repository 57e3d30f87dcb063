"""Parts from a table into the file of a line: new ones at its end, changed figures in their place."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

import yaml

from rules.catalog.catalog import Catalog
from rules.check.ids import UNKNOWN_PART
from rules.diagnostics import Collector, quote
from rules.names import DUPLICATE_ID
from rules.nearest import did_you_mean
from service.authoring.csv_table import Cell, Table, read_table
from service.authoring.emit import Value, block, flow, item, key
from service.authoring.filler import as_written
from service.authoring.import_prices import Imported
from service.authoring.part_table import COLUMNS, LIKE, in_order, value_of
from service.authoring.places_of import file_of, must_lie_in
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.refusal import CannotWrite
from service.authoring.schemas import modeline_beside
from service.authoring.sheet import Edit, Sheet, Step

_WIRES = ("connectors", "links", "channels")

Row = dict[str, Cell]


@dataclass(frozen=True, slots=True, kw_only=True)
class LineAsked:
    """What a person says of a new line of parts."""

    maker: str | None = None
    name: str | None = None


def import_parts(
    directory: Path, text: str, shown_as: str, into: str, asked: LineAsked, collector: Collector
) -> Imported | None:
    """Propose a line's file with the parts of a table.

    Args:
        text: The table.
        shown_as: Its name, for diagnostics.
        into: The line's file in the catalog, such as `parts/tern.yaml`.

    Returns: The proposal, or None if the collector has faults of the table.

    Raises:
        CannotWrite: The file is no file of parts, or a new line, and nobody says who makes it.
    """
    must_lie_in(into, "parts")
    catalog = neighbours(directory)
    table = read_table(text, shown_as, collector, known=COLUMNS, needed="id")
    entries = {row["id"].text: _entry(row, catalog, collector) for row in table.rows} if table else {}
    if table is None or collector.has_errors:
        return None
    _check_elsewhere(catalog, table, into, collector)
    if collector.count:
        return None
    before = read_file(directory, into)
    is_new = before is None
    sheet = Sheet(_new_file(directory, into, asked, entries) if is_new else before or "")
    sheet = sheet if is_new else _changed(sheet, table, entries)
    proposal = Proposal(name=into, before=before, after=sheet.text)
    return Imported(proposal, dict(_cells(sheet, table)))


def _check_elsewhere(catalog: Catalog, table: Table, into: str, collector: Collector) -> None:
    """Report parts that are written in another file already."""
    for row in table.rows:
        part = row["id"].text
        position = catalog.positions.get(f"part:{part}")
        if position is not None and file_of(catalog, f"part:{part}") != into:
            place = f"{position.file}:{position.line}"
            collector.report(
                DUPLICATE_ID, row["id"].span, f"part {quote(part)} is already defined at {place}"
            )


def _entry(row: Row, catalog: Catalog, collector: Collector) -> dict[str, Value]:
    """Give a row as a part is written."""
    entry: dict[str, Value] = {}
    for column in in_order(list(row)):
        if column == LIKE:
            entry |= _wires(row[LIKE], catalog, collector)
            continue
        scope, point, name = column.partition(".")
        value = value_of(column, row[column].text)
        if column in ("source.date", "available.first", "available.last"):
            value = _day(value)
        if point:
            entry.setdefault(scope, {})[name] = value
        else:
            entry[scope] = value
    return entry


def _day(text: Value) -> Value:
    try:
        return date.fromisoformat(str(text))
    except ValueError:
        return text


def _wires(cell: Cell, catalog: Catalog, collector: Collector) -> dict[str, Value]:
    like = catalog.parts.get(cell.text)
    if like is None:
        message = f"this row names part {quote(cell.text)}, which is not in the catalog"
        collector.report(UNKNOWN_PART, cell.span, message, did_you_mean(cell.text, catalog.parts))
        return {}
    written = as_written(like)
    return {name: written[name] for name in _WIRES if name in written}


def _new_file(directory: Path, into: str, asked: LineAsked, entries: Mapping[str, dict[str, Value]]) -> str:
    if asked.maker is None or asked.name is None:
        raise CannotWrite(f"{into} is a new line: say who makes it with --maker, and its --name")
    head = block({"line": Path(into).stem, "maker": asked.maker, "name": asked.name})
    members = "".join(item(entry, 2) for entry in entries.values())
    return f"{modeline_beside(directory, into)}{head}parts:\n{members}"


def _changed(sheet: Sheet, table: Table, entries: Mapping[str, dict[str, Value]]) -> Sheet:
    there = _index(sheet)
    edits: list[Edit] = []
    for row in table.rows:
        part = row["id"].text
        if part in there:
            edits += _changes(sheet, ("parts", there[part]), entries[part])
    new = [item(entry) for part, entry in entries.items() if part not in there]
    edited = sheet.edited(edits)
    return edited.with_item(("parts",), "".join(new)) if new else edited


def _index(sheet: Sheet) -> dict[str, int]:
    """Give the parts of a file with their places in the list."""
    parts = sheet.find("parts")
    members = parts.value if isinstance(parts, yaml.SequenceNode) else []
    return {sheet.value("parts", index, "id") or "": index for index in range(len(members))}


def _changes(sheet: Sheet, path: tuple[Step, ...], entry: Mapping[str, Value]) -> Iterator[Edit]:
    """Give the edits that bring a part's written values to those of an entry; what it does not name stays."""
    missing: dict[str, str] = {}
    for name, value in entry.items():
        node = sheet.find(*path, name)
        if node is None:
            missing[key(name)] = flow(value)
        elif isinstance(node, yaml.MappingNode) and isinstance(value, dict) and set(value) != {"unknown"}:
            yield from _changes(sheet, (*path, name), value)
        elif _plain(node) != _text(value):
            yield sheet.replacing((*path, name), flow(value))
    if missing:
        yield sheet.adding(path, missing)


def _plain(node: yaml.Node) -> Value:
    """Give a written value as text, so that 58 and 58.0 can be told to be equal."""
    match node:
        case yaml.ScalarNode():
            return _text(value_of("", node.value) if node.style is None else node.value)
        case yaml.SequenceNode():
            return [_plain(member) for member in node.value]
        case _:
            return {name.value: _plain(value) for name, value in node.value}


def _text(value: Value) -> Value:
    match value:
        case bool():
            return value
        case int() | float():
            return float(value)
        case list():
            return [_text(member) for member in value]
        case dict():
            return {name: _text(member) for name, member in value.items()}
        case _:
            return str(value)


def _cells(sheet: Sheet, table: Table) -> Iterator[tuple[tuple[int, int], Cell]]:
    """Give the cell behind each value and key of the rows' parts, by its line and column from 1."""
    there = _index(sheet)
    for row in table.rows:
        if row["id"].text in there:
            path: tuple[Step, ...] = ("parts", there[row["id"].text])
            yield from _places(sheet.find(*path), row["id"])
            for column, cell in row.items():
                yield from _places(sheet.find(*path, *column.split(".", 1)), cell)
                yield from _key_place(sheet, path, column, cell)


def _places(node: yaml.Node | None, cell: Cell) -> Iterator[tuple[tuple[int, int], Cell]]:
    """Give the place of a value and of everything in it."""
    if node is None:
        return
    yield (node.start_mark.line + 1, node.start_mark.column + 1), cell
    for member in node.value if isinstance(node, yaml.CollectionNode) else ():
        for part in member if isinstance(member, tuple) else (member,):
            yield from _places(part, cell)


def _key_place(
    sheet: Sheet, path: tuple[Step, ...], column: str, cell: Cell
) -> Iterator[tuple[tuple[int, int], Cell]]:
    *scope, name = column.split(".", 1)
    holder = sheet.find(*path, *scope)
    for written, _ in holder.value if isinstance(holder, yaml.MappingNode) else ():
        if written.value == name:
            yield (written.start_mark.line + 1, written.start_mark.column + 1), cell
