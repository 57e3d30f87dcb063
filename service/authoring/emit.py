"""YAML as a person would write it: short things on one line, everything else indented by two."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

Value = Any
"""What a template is made of: text, truth, numbers, days, lists and mappings of these, and any of it with a note."""

WIDEST = 110
"""Columns of a mapping or list that is written on one line."""

_PLAIN = re.compile(r"[A-Za-z](?:[A-Za-z0-9_ .()/$-]*[A-Za-z0-9_.)])?")
_NOT_TEXT = frozenset(("true", "false", "yes", "no", "on", "off", "null", "absent"))
_KEY = re.compile(r"[A-Za-z][A-Za-z0-9_.$-]*")


@dataclass(frozen=True, slots=True)
class Noted:
    """A value with a comment at the end of its line."""

    value: Value
    note: str


class Lines(dict[str, Value]):
    """A mapping with each key on a line of its own, however short it is, because it is compared line by line."""


def scalar(value: Value) -> str:
    """Write a value; text in quotes where a reader could take it for something else.

    Example:
        >>> scalar("two bikes"), scalar("16.5"), scalar(True), scalar(58.0), scalar("absent")
        ('two bikes', '"16.5"', 'true', '58.0', '"absent"')
    """
    match value:
        case bool():
            return "true" if value else "false"
        case int() | float():
            return repr(value)
        case date():
            return value.isoformat()
        case _:
            text = str(value)
            is_plain = _PLAIN.fullmatch(text) and text.lower() not in _NOT_TEXT
            return text if is_plain else json.dumps(text, ensure_ascii=False)


def key(name: str) -> str:
    """Write a key; one that is a number or has odd letters in quotes."""
    return (
        name
        if _KEY.fullmatch(name) and name.lower() not in _NOT_TEXT
        else json.dumps(name, ensure_ascii=False)
    )


def flow(value: Value) -> str:
    """Write a value on one line."""
    match value:
        case Noted():
            return flow(value.value)
        case dict():
            return "{" + ", ".join(f"{key(name)}: {flow(member)}" for name, member in value.items()) + "}"
        case list() | tuple():
            return "[" + ", ".join(flow(member) for member in value) + "]"
        case _:
            return scalar(value)


def block(value: Mapping[str, Value], indent: int = 0) -> str:
    """Write a mapping, each key on a line of its own.

    Args:
        indent: Spaces before each line.
    """
    return "".join(f"{' ' * indent}{line}\n" for line in _mapping(value))


def item(value: Mapping[str, Value], indent: int = 0) -> str:
    """Write a mapping as a member of a list."""
    first, *rest = _mapping(value)
    return "".join(f"{' ' * indent}{line}\n" for line in (f"- {first}", *(f"  {line}" for line in rest)))


def _mapping(value: Mapping[str, Value]) -> Iterator[str]:
    for name, member in value.items():
        yield from _entry(name, member)


def _entry(name: str, member: Value) -> Iterator[str]:
    note = f"  # {member.note}" if isinstance(member, Noted) else ""
    bare = member.value if isinstance(member, Noted) else member
    if _fits_a_line(name, bare):
        yield f"{key(name)}: {flow(bare)}{note}"
    elif isinstance(bare, dict):
        yield f"{key(name)}:{note}"
        yield from (f"  {line}" for line in _mapping(bare))
    elif isinstance(bare, list):
        yield f"{key(name)}:{note}"
        for each in bare:
            yield from _member(each)


def _member(value: Value) -> Iterator[str]:
    if isinstance(value, dict) and not _fits_a_line("", value):
        yield from (f"  {line}" for line in item(value).splitlines())
    else:
        yield f"  - {flow(value)}"


def _fits_a_line(name: str, value: Value) -> bool:
    if not isinstance(value, dict | list):
        return True
    if isinstance(value, Lines):
        return False
    members = list(value.values()) if isinstance(value, dict) else value
    is_shallow = not any(isinstance(member, Noted) or _is_deep(member) for member in members)
    return is_shallow and len(name) + len(flow(value)) <= WIDEST - 12


def _is_deep(value: Value) -> bool:
    """Tell whether a value is more than a scalar, a list of scalars, or an unknown."""
    if isinstance(value, dict):
        return set(value) != {"unknown"}
    return isinstance(value, list) and any(isinstance(member, dict | list) for member in value)
