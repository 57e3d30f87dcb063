"""What the reader keeps of a file: plain values, and beside them the place of each, packed; nodes are made of it on demand.

A catalog has many more values than anybody asks the place of. So a tree is read as plain values and packed places, and a
node comes to be when somebody looks at it.
"""

from __future__ import annotations

from typing import Any

from rules.diagnostics import Span
from rules.yaml_nodes import KeyValue, Mapping, Node, PlainScalar, Scalar, Sequence

Plain = PlainScalar | list["Plain"] | dict[str, "Plain"]
Marks = int | tuple[int, "list[Marks] | dict[str, tuple[int, Marks]]"]
"""A scalar's packed place; for a list its place and its items' marks; for a mapping its place, and by key the key's place and
the value's marks, in the order of writing."""

QUOTED = 1
END, COLUMN, LINE = 1, 31, 61
_ALL = (1 << 30) - 1


Event = Any
"""An event of YAML with its marks."""


def packed(event: Event, *, quoted: bool) -> int:
    """Pack where an event stands: line, column, and one more than the column of its end if that is on the same line."""
    start, end = event.start_mark, event.end_mark
    line = start.line
    if end.line == line:
        return line << LINE | start.column << COLUMN | end.column + 1 << END | quoted  # type: ignore[no-any-return]
    return line << LINE | start.column << COLUMN | quoted  # type: ignore[no-any-return]


def split_lines(text: str) -> list[str]:
    """Lines as an editor counts them."""
    return text.replace("\r\n", "\n").split("\n")


class Page:
    """A file's name and text, with which packed places become spans."""

    __slots__ = ("_lines", "_text", "file")

    def __init__(self, file: str, text: str) -> None:
        self.file = file
        self._text = text
        self._lines: list[str] | None = None

    def span(self, place: int) -> Span:
        """Unpack a place. What does not end on its line is shown to the line's end."""
        line, column = place >> LINE, place >> COLUMN & _ALL
        end = (place >> END & _ALL) - 1
        if end < 0:
            if self._lines is None:
                self._lines = split_lines(self._text)
            end = len(self._lines[line].rstrip()) if line < len(self._lines) else 0
        return Span(self.file, line + 1, column + 1, max(end, column + 1) + 1)


def node_of(page: Page, value: Plain, marks: Marks, head: Span | None = None) -> Node:
    """Make a node of a plain value and its marks."""
    if isinstance(marks, int):
        assert not isinstance(value, list | dict)  # noqa: S101 - marks have the shape of the value
        return Scalar(value, page.span(marks), quoted=bool(marks & QUOTED))
    place = page.span(marks[0])
    if isinstance(value, list):
        return ReadSequence(page, value, marks, place, head or place)
    assert isinstance(value, dict)  # noqa: S101
    return ReadMapping(page, value, marks, place, head or place)


class ReadSequence(Sequence):
    """A list of a file; its items become nodes when they are looked at."""

    __slots__ = ("_items", "_read")
    _items: tuple[Node, ...] | None
    _read: tuple[Page, list[Plain], Any]

    def __init__(self, page: Page, values: list[Plain], marks: Marks, span: Span, head: Span) -> None:
        object.__setattr__(self, "span", span)
        object.__setattr__(self, "head", head)
        object.__setattr__(self, "_read", (page, values, marks))
        object.__setattr__(self, "_items", None)

    @property
    def items(self) -> tuple[Node, ...]:
        if self._items is None:
            page, values, marks = self._read
            made = tuple(node_of(page, value, mark) for value, mark in zip(values, marks[1], strict=True))
            object.__setattr__(self, "_items", made)
        return self._items or ()

    @property
    def plain(self) -> list[Plain]:
        """Give the plain values; whoever gets them leaves them as they are."""
        return self._read[1]


class ReadMapping(Mapping):
    """A mapping of a file; its members become nodes when they are looked at."""

    __slots__ = ("_entries", "_read", "_single")
    _entries: dict[str, KeyValue] | None
    _read: tuple[Page, dict[str, Plain], Any]
    _single: dict[str, KeyValue]

    def __init__(self, page: Page, values: dict[str, Plain], marks: Marks, span: Span, head: Span) -> None:
        object.__setattr__(self, "span", span)
        object.__setattr__(self, "head", head)
        object.__setattr__(self, "_read", (page, values, marks))
        object.__setattr__(self, "_entries", None)
        object.__setattr__(self, "_single", {})

    @property
    def entries(self) -> dict[str, KeyValue]:
        if self._entries is None:
            made = {key: entry for key in self._read[2][1] if (entry := self.entry(key)) is not None}
            object.__setattr__(self, "_entries", made)
        return self._entries or {}

    def entry(self, key: str) -> KeyValue | None:
        """A key with its value, if the mapping has it."""
        page, values, marks = self._read
        if key not in self._single:
            if key not in values:
                return None
            at, mark = marks[1][key]
            span = page.span(at)
            self._single[key] = KeyValue(span, node_of(page, values[key], mark, span))
        return self._single[key]

    @property
    def plain(self) -> dict[str, Plain]:
        """Give the plain values; whoever gets them leaves them as they are."""
        return self._read[1]
