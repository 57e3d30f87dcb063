"""The one strict reader of catalog files: from YAML's events to nodes, refusing whatever hides a value."""

from __future__ import annotations

import codecs
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import cast

import yaml

from rules.diagnostics import Code, Collector, Span, quote
from rules.yaml_nodes import KeyValue, Mapping, Node, Scalar, Sequence
from rules.yaml_scalars import Refusal, read_plain

NOT_UTF_8 = Code(
    name="not-utf-8",
    about="A file that is not text in UTF-8.",
    why="letters would be read as others, and ids would not match",
    hint="save the file as UTF-8",
    example="a file saved in another encoding",
)
BYTE_ORDER_MARK = Code(
    name="byte-order-mark",
    about="A file that begins with a byte order mark.",
    why="the invisible mark becomes part of the first key for some readers",
    hint="save the file as UTF-8 without a byte order mark",
    example="a file saved as `UTF-8 with BOM`",
)
CONTROL_CHARACTER = Code(
    name="control-character",
    about="An invisible character that is neither a space nor a line end, as such or as an escape.",
    why="it can hide or reorder what a person sees",
    hint="delete it",
    example=r'name: "Tern\u0007"',
)
YAML_SYNTAX = Code(
    name="yaml-syntax",
    about="Text that is not YAML. The rest of its file is not looked at.",
    why="nothing after this point can be read",
    hint="check brackets, quotes, colons and indentation here and on the line above",
    example="name: [Tern",
)
EMPTY_FILE = Code(
    name="empty-file",
    about="A file without any entry.",
    why="an empty file says nothing, and looks as if something was lost",
    hint="write its entries, or delete the file",
    example="# only a comment",
)
SECOND_DOCUMENT = Code(
    name="second-document",
    about="A second YAML document in one file.",
    why="most readers would look at the first one only",
    hint="move it to a file of its own",
    example="line: tern\n---\nline: gull",
)
DUPLICATE_KEY = Code(
    name="duplicate-key",
    about="The same key twice in one mapping.",
    why="most readers keep the last of two equal keys without a word",
    hint="keep one of the two",
    example="mass_kg: 1.2\nmass_kg: 1.4",
)
KEY_NOT_TEXT = Code(
    name="key-not-text",
    about="A key that is a number, a truth value, a list or a mapping.",
    why="readers disagree on how such a key is spelt",
    hint="put the key in quotes",
    example="watts: {4: 75}",
)
YAML_TAG = Code(
    name="yaml-tag",
    about="A YAML tag (an exclamation mark before a value).",
    why="a tag changes what a value means, out of sight of the catalog's own rules",
    hint="delete the tag, or put text in quotes",
    example="name: !!str 12",
)
YAML_ANCHOR = Code(
    name="yaml-anchor",
    about="A YAML anchor (an ampersand before a value).",
    why="anchors hide values: a change in one place alters others unseen",
    hint="delete the anchor and write the value where it is used",
    example="spec: &shared {depth_mm: 60.0}",
)
YAML_ALIAS = Code(
    name="yaml-alias",
    about="A YAML alias (an asterisk with a name).",
    why="aliases hide values: the value stands somewhere else",
    hint="write the value itself, or put text in quotes",
    example="spec: *shared",
)
MERGE_KEY = Code(
    name="merge-key",
    about="YAML's merge key `<<`.",
    why="merged keys hide values, and the catalog has its own inheritance",
    hint="write the keys themselves",
    example="<<: {mass_kg: 1.2}",
)
TOO_DEEP = Code(
    name="too-deep",
    about="Lists or mappings nested more deeply than any entry can be.",
    why="no entry is that deep, so something is wrong, and reading on takes memory",
    hint="check the brackets and the indentation",
    example="[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]",
)

CODES = (
    NOT_UTF_8,
    BYTE_ORDER_MARK,
    CONTROL_CHARACTER,
    YAML_SYNTAX,
    EMPTY_FILE,
    SECOND_DOCUMENT,
    DUPLICATE_KEY,
    KEY_NOT_TEXT,
    YAML_TAG,
    YAML_ANCHOR,
    YAML_ALIAS,
    MERGE_KEY,
    TOO_DEEP,
)

MOST_NESTED = 40
"""Mappings and lists inside one another. Conditions are the deepest entries and stay below 20 in practice."""

_MOST_CONTROL_CHARACTERS = 10
"""Reported for one file: a file full of them is no text at all, and ten lines are enough to say so."""

# Line ends are excluded, and so are the separators that YAML counts as line ends and editors do not: with
# them, line numbers would differ from what a person sees. Direction marks reorder what a person reads.
_CONTROL = re.compile(
    "[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]|\r(?!\n)"
)
_CONTROL_IN_VALUE = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)
_YAML_TAGS = "tag:yaml.org,2002:"
_Start = yaml.MappingStartEvent | yaml.SequenceStartEvent
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


def split_lines(text: str) -> list[str]:
    """Lines as an editor counts them."""
    return text.replace("\r\n", "\n").split("\n")


def decode(data: bytes, file: str, collector: Collector) -> str | None:
    """Text of a file, or None with the reason reported."""
    if data.startswith(codecs.BOM_UTF8):
        collector.report(BYTE_ORDER_MARK, Span(file, 1, 1, 2), "the file begins with a byte order mark")
        return None
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        before = data[: error.start].decode("utf-8")
        collector.report(NOT_UTF_8, _at_end_of(before, file), "this byte is not UTF-8 text")
        return None


def read_yaml(text: str, file: str, collector: Collector) -> Node | None:
    """Read one catalog file.

    Args:
        text: The whole file.
        file: Its name as diagnostics show it.
        collector: Gets every fault.

    Returns: The document, or None if it could not be read to its end. Values with a fault of their own stay
        in the tree as text, so that everything else can still be checked.
    """
    if _has_control_characters(text, file, collector):
        return None
    reader = _Reader(file, split_lines(text), collector, yaml.parse(text, Loader=_LOADER))
    try:
        return reader.document()
    except yaml.YAMLError as error:
        collector.report(YAML_SYNTAX, _place_of(error, file), f"this is not YAML: {_problem(error)}")
    except _TooDeepError as error:
        collector.report(TOO_DEEP, error.span, f"lists and mappings are nested more than {MOST_NESTED} deep")
    return None


def _at_end_of(before: str, file: str) -> Span:
    lines = split_lines(before)
    column = len(lines[-1]) + 1
    return Span(file, len(lines), column, column + 1)


def _has_control_characters(text: str, file: str, collector: Collector) -> bool:
    found = None
    for count, found in enumerate(_CONTROL.finditer(text)):
        if count == _MOST_CONTROL_CHARACTERS:
            break
        place = _at_end_of(text[: found.start()], file)
        collector.report(CONTROL_CHARACTER, place, f"character U+{ord(found[0]):04X} is invisible here")
    return found is not None


def _place_of(error: yaml.YAMLError, file: str) -> Span:
    mark = getattr(error, "problem_mark", None)
    if mark is None:
        return Span(file, 1, 1, 2)
    return Span(file, mark.line + 1, mark.column + 1, mark.column + 2)


def _problem(error: yaml.YAMLError) -> str:
    return str(getattr(error, "problem", None) or "it cannot be read")


class _TooDeepError(Exception):
    def __init__(self, span: Span) -> None:
        super().__init__(span)
        self.span = span


@dataclass(slots=True)
class _Reader:
    """One pass over the events of one file."""

    file: str
    lines: list[str]
    collector: Collector
    events: Iterator[yaml.Event]
    depth: int = field(default=0)

    def document(self) -> Node | None:
        next(self.events)
        event = next(self.events)
        if isinstance(event, yaml.StreamEndEvent):
            self.collector.report(EMPTY_FILE, Span(self.file, 1, 1, 2), "the file has no entry")
            return None
        root = self.node(next(self.events), None)
        next(self.events)
        self.refuse_second_document()
        return root

    def refuse_second_document(self) -> None:
        event = next(self.events)
        if not isinstance(event, yaml.StreamEndEvent):
            self.report(SECOND_DOCUMENT, event, "a second document begins here")

    def node(self, event: yaml.Event, head: Span | None) -> Node:
        """Read what an event begins. `head` is the key it stands under."""
        self.refuse_hidden(event)
        if isinstance(event, yaml.ScalarEvent):
            return self.scalar(event, head)
        if isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            return self.nested(event, head)
        return Scalar("", self.span(event), quoted=True)

    def nested(self, event: _Start, head: Span | None) -> Node:
        self.depth += 1
        if self.depth > MOST_NESTED:
            raise _TooDeepError(self.span(event))
        is_mapping = isinstance(event, yaml.MappingStartEvent)
        node = self.mapping(event, head) if is_mapping else self.sequence(event, head)
        self.depth -= 1
        return node

    def refuse_hidden(self, event: yaml.Event) -> None:
        """Report tags, anchors and aliases."""
        if isinstance(event, yaml.AliasEvent):
            self.report(YAML_ALIAS, event, f"alias {quote(f'*{event.anchor}')} hides a value")
        elif isinstance(event, yaml.NodeEvent) and event.anchor is not None:
            self.report(YAML_ANCHOR, event, f"anchor {quote(f'&{event.anchor}')} on a value")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.report(YAML_TAG, event, f"tag {quote(tag.replace(_YAML_TAGS, '!!'))} on a value")

    def report(self, code: Code, event: yaml.Event, message: str) -> None:
        self.collector.report(code, self.span(event), message)

    def scalar(self, event: yaml.ScalarEvent, head: Span | None) -> Scalar:
        span = self.span(event)
        if not event.implicit[0]:
            return self.quoted(event.value, span)
        read = read_plain(event.value)
        if not isinstance(read, Refusal):
            return Scalar(read, span)
        # An empty value has no place of its own worth pointing at, so its key is shown.
        span = head if head and not event.value else span
        self.collector.report(read.code, span, read.message)
        return Scalar(event.value, span, quoted=True)

    def quoted(self, value: str, span: Span) -> Scalar:
        found = _CONTROL_IN_VALUE.search(value)
        if found:
            message = f"the text holds the invisible character U+{ord(found[0]):04X}"
            self.collector.report(CONTROL_CHARACTER, span, message)
        return Scalar(value, span, quoted=True)

    def sequence(self, start: _Start, head: Span | None) -> Sequence:
        found = []
        while not isinstance(event := next(self.events), yaml.SequenceEndEvent):
            found.append(self.node(event, None))
        span = self.span(start)
        return Sequence(tuple(found), span, head or span)

    def mapping(self, start: _Start, head: Span | None) -> Mapping:
        entries: dict[str, KeyValue] = {}
        span = None
        while not isinstance(event := next(self.events), yaml.MappingEndEvent):
            key = self.span(event)
            span = span or key
            self.entry(event, key, entries)
        # A mapping in braces is shown by its brace: its first key may stand on another line.
        span = self.span(start) if start.flow_style or span is None else span
        return Mapping(entries, span, head or span)

    def entry(self, event: yaml.Event, key: Span, entries: dict[str, KeyValue]) -> None:
        word = self.key(event, key)
        value = self.node(next(self.events), key)
        if word is None:
            return
        if word in entries:
            first = entries[word].key
            message = f"key {quote(word)} is already given on line {first.line}"
            self.collector.report(DUPLICATE_KEY, key, message)
            return
        entries[word] = KeyValue(key, value)

    def key(self, event: yaml.Event, key: Span) -> str | None:
        """The text of a key; None for one that is no text, so that only its value is looked at."""
        if not isinstance(event, yaml.ScalarEvent):
            self.refuse_key(event, key)
            return None
        if event.value == "<<" and event.implicit[0]:
            self.collector.report(MERGE_KEY, key, "the merge key `<<` copies keys from elsewhere")
            return None
        word = self.node(event, None)
        if isinstance(word, Scalar) and not isinstance(word.value, str):
            self.collector.report(KEY_NOT_TEXT, key, f"key {quote(event.value)} is not text")
        return event.value

    def refuse_key(self, event: yaml.Event, key: Span) -> None:
        self.collector.report(KEY_NOT_TEXT, key, "a key is a single word of text")
        self.node(event, None)

    def span(self, event: yaml.Event) -> Span:
        # Only a loader that is told to leaves the marks out.
        start, end = cast("yaml.Mark", event.start_mark), cast("yaml.Mark", event.end_mark)
        if end.line == start.line:
            last = max(end.column, start.column + 1)
        else:
            last = max(len(self.lines[start.line].rstrip()), start.column + 1)
        return Span(self.file, start.line + 1, start.column + 1, last + 1)
