"""The one strict reader of catalog files: from YAML's events to nodes, refusing whatever hides a value."""

from __future__ import annotations

import codecs
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import yaml

from rules.diagnostics import Code, Collector, Span, quote
from rules.yaml_nodes import Node, PlainScalar
from rules.yaml_quick import read_quickly
from rules.yaml_raw import COLUMN, END, LINE, QUOTED, Marks, Page, Plain, node_of, packed, split_lines
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
_PLAIN_BYTES = bytes([0x09, 0x0A, *range(0x20, 0x7F)])
_YAML_TAGS = "tag:yaml.org,2002:"
_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


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


def read_yaml(text: str, file: str, collector: Collector, *, quickly: bool = False) -> Node | None:
    """Read one catalog file.

    Args:
        text: The whole file.
        file: Its name as diagnostics show it.
        collector: Gets every fault.
        quickly: Few places will be asked for: read a file without a fault for its values alone, and again for its places
            when one is asked for.

    Returns: The document, or None if it could not be read to its end. Values with a fault of their own stay
        in the tree as text, so that everything else can still be checked.
    """
    if _has_control_characters(text, file, collector):
        return None
    if quickly:
        loader = _LOADER(text)
        read = read_quickly(loader, text, MOST_NESTED)
        loader.dispose()
        if read is not None:
            page = Page(file, text, lambda: _marks_again(text, file), read[1])
            return node_of(page, read[0], page.marks)
    found = _read_strictly(text, file, collector)
    if found is None:
        return None
    value, marks = found
    page = Page(file, text, lambda: marks)
    return node_of(page, value, page.marks)


def _marks_again(text: str, file: str) -> Marks:
    found = _read_strictly(text, file, Collector())
    assert found is not None  # noqa: S101 - it was read before
    return found[1]


def _read_strictly(text: str, file: str, collector: Collector) -> tuple[Plain, Marks] | None:
    loader = _LOADER(text)
    hides_nothing = not any(letter in text for letter in "&*!")
    page = Page(file, text, lambda: 0)
    reader = _Reader(page, collector, loader.get_event, hides_nothing=hides_nothing)
    try:
        return reader.document()
    except yaml.YAMLError as error:
        collector.report(YAML_SYNTAX, _place_of(error, file), f"this is not YAML: {_problem(error)}")
    except _TooDeepError as error:
        collector.report(TOO_DEEP, error.span, f"lists and mappings are nested more than {MOST_NESTED} deep")
    finally:
        loader.dispose()
    return None


def _at_end_of(before: str, file: str) -> Span:
    lines = split_lines(before)
    column = len(lines[-1]) + 1
    return Span(file, len(lines), column, column + 1)


def _has_control_characters(text: str, file: str, collector: Collector) -> bool:
    # Most files are plain letters throughout, which is quicker to see than that no letter is a bad one.
    if text.isascii() and not text.encode().translate(None, _PLAIN_BYTES):
        return False
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


_MISSING: Any = object()

Event = Any
"""An event of YAML. Its classes have no common type that names what the one at hand has."""


@dataclass(slots=True)
class _Reader:
    """One pass over the events of one file: plain values, and beside them where each stands.

    This is the slowest part of loading, so places are packed into numbers here, and nodes are only made of them where
    somebody looks (`rules.yaml_raw`). `hides_nothing`: no letter of the file begins an anchor, an alias or a tag.
    """

    page: Page
    collector: Collector
    event: Callable[[], Any]
    depth: int = 0
    hides_nothing: bool = False
    words: dict[str, PlainScalar] = field(default_factory=dict)

    def document(self) -> tuple[Plain, Marks] | None:
        self.event()
        if isinstance(self.event(), yaml.StreamEndEvent):
            self.collector.report(EMPTY_FILE, Span(self.page.file, 1, 1, 2), "the file has no entry")
            return None
        read = self.value(self.event(), None)
        self.event()
        self.refuse_second_document()
        return read

    def refuse_second_document(self) -> None:
        event = self.event()
        if not isinstance(event, yaml.StreamEndEvent):
            self.report(SECOND_DOCUMENT, event, "a second document begins here")

    def value(self, event: Event, head: int | None) -> tuple[Plain, Marks]:
        """Read what an event begins. `head` is the place of the key it stands under."""
        kind = event.__class__
        if kind is yaml.ScalarEvent:
            return self.scalar(event, head)
        if kind is yaml.AliasEvent:
            self.refuse_hidden(event)
            return "", packed(event, quoted=True)
        if event.anchor is not None or event.tag is not None:
            self.refuse_hidden(event)
        self.depth += 1
        if self.depth > MOST_NESTED:
            raise _TooDeepError(self.span(event))
        read = self.mapping(event) if kind is yaml.MappingStartEvent else self.sequence(event)
        self.depth -= 1
        return read

    def refuse_hidden(self, event: Event) -> None:
        """Report tags, anchors and aliases."""
        if isinstance(event, yaml.AliasEvent):
            self.report(YAML_ALIAS, event, f"alias {quote(f'*{event.anchor}')} hides a value")
        elif event.anchor is not None:
            self.report(YAML_ANCHOR, event, f"anchor {quote(f'&{event.anchor}')} on a value")
        tag = getattr(event, "tag", None)
        if tag is not None:
            self.report(YAML_TAG, event, f"tag {quote(tag.replace(_YAML_TAGS, '!!'))} on a value")

    def report(self, code: Code, event: Event, message: str) -> None:
        self.collector.report(code, self.span(event), message)

    def scalar(self, event: Event, head: int | None) -> tuple[PlainScalar, int]:
        if event.anchor is not None or event.tag is not None:
            self.refuse_hidden(event)
        text = event.value
        if not event.implicit[0]:
            self.look_into(text, event)
            return text, packed(event, quoted=True)
        known: PlainScalar = self.words.get(text, _MISSING)
        if known is not _MISSING:
            return known, packed(event, quoted=False)
        read = read_plain(text)
        if not isinstance(read, Refusal):
            # The merge key is a word as a value, and refused as a key: it always goes the long way.
            if text != "<<":
                self.words[text] = read
            return read, packed(event, quoted=False)
        # An empty value has no place of its own worth pointing at, so its key is shown.
        place = head if head is not None and not text else packed(event, quoted=True)
        self.collector.report(read.code, self.page.span(place), read.message)
        return text, place | QUOTED

    def look_into(self, text: str, event: Event) -> None:
        found = _CONTROL_IN_VALUE.search(text)
        if found:
            message = f"the text holds the invisible character U+{ord(found[0]):04X}"
            self.report(CONTROL_CHARACTER, event, message)

    def sequence(self, start: Event) -> tuple[list[Plain], Marks]:
        values: list[Plain] = []
        marks: list[Marks] = []
        while (event := self.event()).__class__ is not yaml.SequenceEndEvent:
            value, mark = self.value(event, None)
            values.append(value)
            marks.append(mark)
        return values, (packed(start, quoted=False), marks)

    def mapping(self, start: Event) -> tuple[dict[str, Plain], Marks]:
        next_event, words, plain_page = self.event, self.words, self.hides_nothing
        is_scalar: Any = yaml.ScalarEvent
        is_end: Any = yaml.MappingEndEvent
        values: dict[str, Plain] = {}
        marks: dict[str, tuple[int, Marks]] = {}
        place = packed(start, quoted=False) if start.flow_style else None
        while (event := next_event()).__class__ is not is_end:
            # Most keys and values are plain words or numbers that came up before. They take a short way, without any call.
            is_plain = plain_page and event.__class__ is is_scalar
            mark, end = event.start_mark, event.end_mark
            line = mark.line
            key = line << LINE | mark.column << COLUMN | (end.column + 1 << END if end.line == line else 0)
            if is_plain and words.get(event.value) == event.value:
                word: str | None = event.value
            else:
                word = self.key(event, key)
            # A mapping in braces is shown by its brace: its first key may stand on another line.
            place = key if place is None else place
            event = next_event()
            short = plain_page and event.__class__ is is_scalar and event.implicit[0]
            value: Plain = words.get(event.value, _MISSING) if short else _MISSING
            if value is not _MISSING:
                mark, end = event.start_mark, event.end_mark
                line = mark.line
                at: Marks = (
                    line << LINE | mark.column << COLUMN | (end.column + 1 << END if end.line == line else 0)
                )
            else:
                value, at = self.value(event, key)
            if word is None:
                continue
            if word in marks:
                self.refuse_repeated(word, key, marks[word][0])
                continue
            values[word] = value
            marks[word] = (key, at)
        # Keys are sorted, so that the order of writing never reaches an answer.
        return {word: values[word] for word in sorted(values)}, (
            packed(start, quoted=False) if place is None else place,
            marks,
        )

    def refuse_repeated(self, word: str, key: int, first: int) -> None:
        message = f"key {quote(word)} is already given on line {self.page.span(first).line}"
        self.collector.report(DUPLICATE_KEY, self.page.span(key), message)

    def key(self, event: Event, key: int) -> str | None:
        """The text of a key; None for one that is no text, so that only its value is looked at."""
        if event.__class__ is not yaml.ScalarEvent:
            self.collector.report(KEY_NOT_TEXT, self.page.span(key), "a key is a single word of text")
            self.value(event, None)
            return None
        word: str = event.value
        if self.words.get(word) == word and event.implicit[0] and event.anchor is None and event.tag is None:
            return word
        if word == "<<" and event.implicit[0]:
            self.collector.report(
                MERGE_KEY, self.page.span(key), "the merge key `<<` copies keys from elsewhere"
            )
            return None
        if not isinstance(self.scalar(event, None)[0], str):
            self.collector.report(KEY_NOT_TEXT, self.page.span(key), f"key {quote(word)} is not text")
        return word

    def span(self, event: Event) -> Span:
        return self.page.span(packed(event, quoted=False))
