"""The quick way through a file without a fault: plain values, and the places of ids alone.

Most files have no fault, and nobody asks where most of their values stand. So a file is first read here, and whatever is
out of the ordinary ends it: then, and when another place is asked for, the strict reader reads the file whole.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import yaml

from rules.yaml_nodes import PlainScalar
from rules.yaml_raw import IDS, Ids, Plain, packed
from rules.yaml_scalars import Refusal, read_plain

_MISSING: Any = object()
_HIDING = "&*!"
"""Letters that may begin an anchor, an alias or a tag; and an escape may hide what no one sees."""


class _OutOfTheOrdinaryError(Exception):
    """The strict reader must look at this file."""


def read_quickly(loader: Any, text: str, most_nested: int) -> tuple[Plain, Ids] | None:  # noqa: ANN401 - PyYAML's own
    """Read a file's plain values; None if it holds anything that the strict reader must judge.

    Args:
        loader: Gives the events of the text.
        text: The same text.
        most_nested: As in the strict reader.
    """
    if "\\" in text or any(letter in text for letter in _HIDING):
        return None
    reader = _Quick(loader.get_event, most_nested)
    try:
        return reader.document(), reader.ids
    except (_OutOfTheOrdinaryError, yaml.YAMLError):
        return None


class _Quick:
    def __init__(self, event: Callable[[], Any], left: int) -> None:
        self.event = event
        self.left = left
        self.words: dict[str, PlainScalar] = {}
        self.ids: Ids = {}

    def document(self) -> Plain:
        self.event()
        if self.event().__class__ is not yaml.DocumentStartEvent:
            raise _OutOfTheOrdinaryError
        value = self.below(self.event())
        self.event()
        if self.event().__class__ is not yaml.StreamEndEvent:
            raise _OutOfTheOrdinaryError
        return value

    def below(self, event: Any) -> Plain:  # noqa: ANN401 - an event of YAML
        """Read a list or a mapping, or a value that did not come up before."""
        kind = event.__class__
        if kind is yaml.ScalarEvent:
            return self.word(event.value) if event.implicit[0] else str(event.value)
        if not self.left:
            raise _OutOfTheOrdinaryError
        self.left -= 1
        value = self.mapping() if kind is yaml.MappingStartEvent else self.sequence()
        self.left += 1
        return value

    def word(self, text: str) -> PlainScalar:
        read = read_plain(text)
        if isinstance(read, Refusal) or text == "<<":
            raise _OutOfTheOrdinaryError
        self.words[text] = read
        return read

    def sequence(self) -> list[Plain]:
        values: list[Plain] = []
        is_end: Any = yaml.SequenceEndEvent
        while (event := self.event()).__class__ is not is_end:
            values.append(self.below(event))
        return values

    def mapping(self) -> dict[str, Plain]:
        next_event, words = self.event, self.words
        is_end: Any = yaml.MappingEndEvent
        is_scalar: Any = yaml.ScalarEvent
        values: dict[str, Plain] = {}
        ids = None
        while (event := next_event()).__class__ is not is_end:
            key: Any = event.value if event.__class__ is is_scalar else None
            if words.get(key, _MISSING) != key and not self.is_key(event):
                raise _OutOfTheOrdinaryError
            event = next_event()
            value = (
                words.get(event.value, _MISSING)
                if event.__class__ is is_scalar and event.implicit[0]
                else _MISSING
            )
            if value is _MISSING:
                value = self.below(event)
            if key in values:
                raise _OutOfTheOrdinaryError
            values[key] = value
            if key in IDS and event.__class__ is is_scalar:
                ids = {**(ids or {}), key: packed(event, quoted=not event.implicit[0])}
        # Keys are sorted, so that the order of writing never reaches an answer.
        read = {key: values[key] for key in sorted(values)}
        if ids:
            self.ids[id(read)] = ids
        return read

    def is_key(self, event: Any) -> bool:  # noqa: ANN401 - an event of YAML
        if event.__class__ is not yaml.ScalarEvent:
            return False
        return not event.implicit[0] or isinstance(self.word(event.value), str)
