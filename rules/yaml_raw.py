"""What the reader keeps of a file: plain values, and beside them the place of each, packed; nodes are made of it on demand.

A catalog has many more values than anybody asks the place of. So a tree is read as plain values and packed places, and a
node comes to be when somebody looks at it.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
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


IDS = frozenset(("id", "name", "line", "topic", "family", "price_list"))
"""Keys whose places are always kept: every entry is found again by one of them."""

Ids = dict[int, dict[str, int]]
"""Packed places of such values, by the identity of the mapping that holds them."""


class Page:
    """A file's name and text; where the values of its tree stand is read when somebody asks."""

    __slots__ = ("_lines", "_marks", "_read_marks", "_text", "file", "ids")

    def __init__(self, file: str, text: str, read_marks: Callable[[], Marks], ids: Ids | None = None) -> None:
        self.file = file
        self.ids: Ids = {} if ids is None else ids
        self._text = text
        self._lines: list[str] | None = None
        self._read_marks = read_marks
        self._marks: Marks | None = None

    def marks(self) -> Marks:
        """Give the marks of the whole file."""
        if self._marks is None:
            self._marks = self._read_marks()
        return self._marks

    def span(self, place: int) -> Span:
        """Unpack a place. What does not end on its line is shown to the line's end."""
        line, column = place >> LINE, place >> COLUMN & _ALL
        end = (place >> END & _ALL) - 1
        if end < 0:
            if self._lines is None:
                self._lines = split_lines(self._text)
            end = len(self._lines[line].rstrip()) if line < len(self._lines) else 0
        return Span(self.file, line + 1, column + 1, max(end, column + 1) + 1)


Locate = Callable[[], Any]
"""Gives the marks of one value."""


def node_of(page: Page, value: Plain, locate: Locate, head: Callable[[], Span] | None = None) -> Node:
    """Make a node of a plain value. `head` gives the place of its key."""
    if isinstance(value, list):
        return ReadSequence(page, value, locate, head)
    if isinstance(value, dict):
        return ReadMapping(page, value, locate, head)
    marks = locate()
    return Scalar(value, page.span(marks), quoted=bool(marks & QUOTED))


class _Placed:
    """Where a list or a mapping stands, worked out when it is asked for."""

    __slots__ = ()
    _page: Page
    _locate: Locate
    _head: Callable[[], Span] | None

    @property
    def span(self) -> Span:
        """Where it begins."""
        return self._page.span(self._locate()[0])

    @property
    def head(self) -> Span:
        """Its key's place; without one, its own."""
        return self.span if self._head is None else self._head()


class ReadSequence(_Placed, Sequence):
    """A list of a file; its items become nodes when they are looked at."""

    __slots__ = ("_head", "_items", "_locate", "_page", "_values")
    _items: tuple[Node, ...] | None
    _values: list[Plain]

    def __init__(
        self, page: Page, values: list[Plain], locate: Locate, head: Callable[[], Span] | None
    ) -> None:
        _set(self, _page=page, _values=values, _locate=locate, _head=head, _items=None)

    @property
    def items(self) -> tuple[Node, ...]:
        """The items, in order."""
        if self._items is None:
            locate = self._locate
            made = tuple(
                node_of(self._page, value, partial(_item, locate, at))
                for at, value in enumerate(self._values)
            )
            _set(self, _items=made)
        return self._items or ()

    @property
    def plain(self) -> list[Plain]:
        """Give the plain values; whoever gets them leaves them as they are."""
        return self._values


class ReadMapping(_Placed, Mapping):
    """A mapping of a file; its members become nodes when they are looked at."""

    __slots__ = ("_entries", "_head", "_locate", "_nodes", "_page", "_values")
    _entries: dict[str, KeyValue] | None
    _nodes: dict[str, Node]
    _values: dict[str, Plain]

    def __init__(
        self, page: Page, values: dict[str, Plain], locate: Locate, head: Callable[[], Span] | None
    ) -> None:
        _set(self, _page=page, _values=values, _locate=locate, _head=head, _entries=None, _nodes={})

    @property
    def entries(self) -> dict[str, KeyValue]:
        """Keys and values in the order of writing."""
        if self._entries is None:
            made = {key: entry for key in self._locate()[1] if (entry := self.entry(key)) is not None}
            _set(self, _entries=made)
        return self._entries or {}

    def entry(self, key: str) -> KeyValue | None:
        """A key with its value, if the mapping has it."""
        node = self.get(key)
        return None if node is None else KeyValue(self._key_span(key), node)

    def get(self, key: str) -> Node | None:
        """The value of a key, if the mapping has it."""
        if key not in self._nodes:
            if key not in self._values:
                return None
            self._nodes[key] = self._node(key, self._values[key])
        return self._nodes[key]

    def _node(self, key: str, value: Plain) -> Node:
        known = self._page.ids.get(id(self._values), {}).get(key) if key in IDS else None
        if known is not None and not isinstance(value, list | dict):
            return Scalar(value, self._page.span(known), quoted=bool(known & QUOTED))
        return node_of(self._page, value, partial(_member, self._locate, key), partial(self._key_span, key))

    def _key_span(self, key: str) -> Span:
        return self._page.span(self._locate()[1][key][0])

    @property
    def plain(self) -> dict[str, Plain]:
        """Give the plain values; whoever gets them leaves them as they are."""
        return self._values


def _item(locate: Locate, at: int) -> Marks:
    return locate()[1][at]  # type: ignore[no-any-return]


def _member(locate: Locate, key: str) -> Marks:
    return locate()[1][key][1]  # type: ignore[no-any-return]


def _set(node: object, **values: object) -> None:
    # Nodes are frozen for everybody else.
    for name, value in values.items():
        object.__setattr__(node, name, value)
