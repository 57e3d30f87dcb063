"""A catalog's stored form: what was read and checked once, written so that it is quick to read back.

Equal members are written once and shared when read back: a bike repeats most of its neighbour's facts, so a
catalog has few different ones. The form is JSON and names only classes of `rules.catalog`: reading it runs no code
of its writer's. It is no exchange format. Nothing is validated anew, because only what was checked is ever written;
so whoever keeps the bytes keeps their digest elsewhere, and compares it before reading.
"""

from __future__ import annotations

import gc
import json
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

from rules.catalog.catalog import Ambiguous, Bike, Catalog, Origin, Position
from rules.catalog.entry import Entry
from rules.catalog.facts import YearSpan

FORM = 2
"""Raised when a catalog is written otherwise than before, or when its files must be read and checked again."""

_RECORDS: tuple[type, ...] = (Ambiguous, Bike, Catalog, Origin, Position)

_FIELDS = {record: tuple(x.name for x in fields(record)) for record in _RECORDS}

Row = tuple[int, ...]
Shape = tuple[str, tuple[str, ...], tuple[str, ...]]
"""What a member is: its class or container, its fields, and which of these were given rather than left to a default."""

Build = Callable[[Callable[[int], Any], Iterable[Row]], list[Any]]
"""Makes the members of one shape. It is handed the way to look up what they are made of."""


class StoredFormRefused(ValueError):  # noqa: N818 - "refused" is the word for it, as for a catalog
    """Bytes are no stored form that this revision of the program reads: read the catalog's files again."""


def to_stored(catalog: Catalog) -> bytes:
    """Write a catalog. The same catalog gives the same bytes."""
    writer = _Writer()
    root = writer.number(catalog)
    numbers, runs = writer.in_runs()
    content = {
        "form": FORM,
        "scalars": writer.scalars,
        "runs": runs,
        "root": numbers[root],
    }
    return json.dumps(content, separators=(",", ":")).encode()


def from_stored(content: bytes) -> Catalog:
    """Read back what `to_stored` wrote.

    Raises:
        StoredFormRefused: Another revision wrote it, or it is something else.
    """
    was_enabled = gc.isenabled()
    # All that is made here stays; looking through it for garbage would double the time.
    gc.disable()
    try:
        return _read(json.loads(content))
    except (ArithmeticError, LookupError, TypeError, ValueError, AttributeError, RecursionError) as error:
        raise StoredFormRefused("this is no stored form of this revision") from error
    finally:
        if was_enabled:
            gc.enable()


@dataclass(slots=True)
class _Writer:
    """Numbers every different scalar and member once. A member's number is above those of what it is made of."""

    scalars: list[object] = field(default_factory=list)
    members: list[tuple[Shape, Row, int]] = field(default_factory=list)
    _scalar_numbers: dict[tuple[type, object], int] = field(default_factory=dict)
    _member_numbers: dict[tuple[Shape, Row], int] = field(default_factory=dict)
    _seen: dict[int, tuple[object, int]] = field(default_factory=dict)

    def number(self, value: object) -> int:
        """Give a member's number; a scalar's is negative, -1 for the first."""
        if value is None or isinstance(value, str | bool | int | float):
            return self._scalar(value)
        # The value is kept beside its number, so that no other can come to have its id.
        known = self._seen.get(id(value))
        if known is None:
            known = self._seen[id(value)] = (value, self._member(value))
        return known[1]

    def _scalar(self, value: object) -> int:
        # 1, 1.0 and True are equal, and 0.0 is equal to -0.0, but none stands for another.
        key = (type(value), repr(value) if isinstance(value, float) else value)
        if key not in self._scalar_numbers:
            self.scalars.append(value)
            self._scalar_numbers[key] = -len(self.scalars)
        return self._scalar_numbers[key]

    def _member(self, value: object) -> int:
        shape, parts = _taken_apart(value)
        row = tuple(self.number(part) for part in parts)
        if (shape, row) not in self._member_numbers:
            level = 1 + max((self.members[x][2] for x in row if x >= 0), default=0)
            self._member_numbers[shape, row] = len(self.members)
            self.members.append((shape, row, level))
        return self._member_numbers[shape, row]

    def in_runs(self) -> tuple[dict[int, int], list[tuple[Shape, list[Row]]]]:
        """Gather members of one shape that need only earlier ones, and number everything in that order."""
        groups: dict[tuple[int, Shape], list[int]] = defaultdict(list)
        for number, (shape, _, level) in enumerate(self.members):
            groups[level, shape].append(number)
        order = sorted(groups.items(), key=lambda group: group[0])
        numbers = {-1 - index: index for index in range(len(self.scalars))}
        for number in (number for _, group in order for number in group):
            numbers[number] = len(numbers)
        return numbers, [
            (shape, [tuple(numbers[x] for x in self.members[number][1]) for number in group])
            for (_, shape), group in order
        ]


def _taken_apart(value: object) -> tuple[Shape, list[object]]:
    match value:
        case Entry():
            names = tuple(type(value).model_fields)
            given = tuple(sorted(value.model_fields_set))
            return (type(value).__name__, names, given), [value.__dict__[name] for name in names]
        case dict():
            return ("dict", (), ()), [x for item in value.items() for x in item]
        case YearSpan():
            return ("years", (), ()), list(value)
        case tuple():
            return ("tuple", (), ()), list(value)
        case date():
            return ("day", (), ()), [value.toordinal()]
        case _ if isinstance(value, _RECORDS):
            names = _FIELDS[type(value)]
            return (type(value).__name__, names, ()), [getattr(value, name) for name in names]
        case _:
            raise TypeError(f"a catalog holds a {type(value).__name__}, which has no stored form")


def _read(content: dict[str, Any]) -> Catalog:
    if content["form"] != FORM:
        raise ValueError("another form")
    values: list[Any] = content["scalars"]
    entries = _entries(Entry)
    for shape, rows in content["runs"]:
        values.extend(_builder(shape, entries)(values.__getitem__, rows))
    catalog = values[content["root"]]
    if not isinstance(catalog, Catalog):
        raise TypeError("the root is no catalog")
    return catalog


def _entries(base: type[Entry]) -> dict[str, type[Entry]]:
    found = {base.__name__: base}
    for below in base.__subclasses__():
        found |= _entries(below)
    return found


_CONTAINERS: dict[str, Build] = {
    "dict": lambda get, rows: [
        dict(zip(map(get, row[::2]), map(get, row[1::2]), strict=True)) for row in rows
    ],
    "tuple": lambda get, rows: [tuple(map(get, row)) for row in rows],
    "years": lambda get, rows: [YearSpan._make(map(get, row)) for row in rows],
    "day": lambda get, rows: [date.fromordinal(get(*row)) for row in rows],
}


def _builder(shape: tuple[str, list[str], list[str]], entries: dict[str, type[Entry]]) -> Build:
    name, names, given = shape
    if name in _CONTAINERS:
        return _CONTAINERS[name]
    record = next((x for x in _RECORDS if x.__name__ == name), None)
    if record is not None:
        return _record_builder(record, names)
    return _entry_builder(entries[name], names, set(given))


def _record_builder(record: type, names: list[str]) -> Build:
    if tuple(names) != _FIELDS[record]:
        raise ValueError("another revision's record")
    return lambda get, rows: [record(**dict(zip(names, map(get, row), strict=True))) for row in rows]


def _entry_builder(entry: type[Entry], names: list[str], given: set[str]) -> Build:
    if names != list(entry.model_fields):
        raise ValueError("another revision's entry")
    return lambda get, rows: [
        _unchecked(entry, dict(zip(names, map(get, row), strict=True)), given) for row in rows
    ]


def _unchecked(entry: type[Entry], values: dict[str, Any], given: set[str]) -> Entry:
    """Make an entry as pydantic's `model_construct` does, without its search for defaults and aliases."""
    made = entry.__new__(entry)
    _put(made, "__dict__", values)
    _put(made, "__pydantic_fields_set__", given)
    _put(made, "__pydantic_extra__", None)
    _put(made, "__pydantic_private__", None)
    return made


_put = object.__setattr__
