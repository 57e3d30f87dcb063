"""What a table of parts holds: a row for each part, a column for each figure."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from rules.catalog.part import Part
from service.authoring.emit import Value
from service.authoring.filler import as_written

LIKE = "like"
"""The column with a part whose plugs, links and channels this one has: wires do not go into a table."""

COLUMNS = (
    "id",
    "name",
    "kind",
    "slot",
    "at",
    "tags",
    "spec.",
    "mass_kg",
    "speaker.impedance_ohm",
    "speaker.rms_w",
    "supply.fuse_a",
    "supply.full_a",
    "supply.idle_a",
    "supply.efficiency",
    "cable.area_mm2",
    "cable.length_m",
    "cable.ampacity_a",
    "cable.fuses_a",
    "preset.amplifiers",
    "preset.minutes",
    "preset.days",
    "members",
    "host",
    "rewires",
    "colour",
    "lead_days",
    "warranty_months",
    "available.first",
    "available.last",
    "stock_only",
    LIKE,
    "source.kind",
    "source.ref",
    "source.date",
)
"""Columns in the order in which a part is written; `spec.` stands for every fact of a part, such as `spec.depth_mm`."""

_LISTS = frozenset(("at", "tags", "cable.fuses_a", "preset.amplifiers", "members", "host"))
_TEXTS = frozenset(("id", "name", "kind", "slot", "colour", LIKE, "source.kind", "source.ref"))
_UNKNOWN = "unknown:"
"""How a cell begins that says how to find out."""

_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]{0,14})(?:\.[0-9]{1,15})?")
_WORDS = {"true": True, "false": False}


def value_of(column: str, text: str) -> Value:
    """Read a cell. What does not look like a number stays text, and the checker says so at its place.

    Example:
        >>> value_of("at", "pods lids"), value_of("spec.depth_mm", "58.5"), value_of("mass_kg", "unknown: weigh it")
        (['pods', 'lids'], 58.5, {'unknown': 'weigh it'})
    """
    if column in _TEXTS:
        return text
    if column in _LISTS:
        return [_read(word) for word in text.replace(";", " ").split()]
    if text.startswith(_UNKNOWN):
        return {"unknown": text.removeprefix(_UNKNOWN).strip()}
    return _read(text)


def _read(text: str) -> Value:
    if _NUMBER.fullmatch(text):
        return float(text) if "." in text else int(text)
    return _WORDS.get(text, text)


def text_of(value: Value) -> str:
    """Write a value as a cell; the reverse of `value_of`."""
    match value:
        case bool():
            return "true" if value else "false"
        case {"unknown": words}:
            return f"{_UNKNOWN} {words}"
        case list():
            return " ".join(text_of(member) for member in value)
        case float() if value.is_integer():
            return str(int(value))
        case _:
            return str(value)


def columns_of(parts: Iterator[Part] | list[Part]) -> tuple[dict[str, str], ...]:
    """Give each part as a row: cells by column, without wires."""
    return tuple(dict(_cells(part)) for part in parts)


def _cells(part: Part) -> Iterator[tuple[str, str]]:
    written = as_written(part)
    for column in COLUMNS:
        scope, point, rest = column.partition(".")
        if column.endswith("."):
            yield from (
                (f"{column}{name}", text_of(value)) for name, value in _sorted(written.get(scope, {}))
            )
        elif point:
            inner = written.get(scope, {})
            if isinstance(inner, Mapping) and rest in inner:
                yield column, text_of(inner[rest])
        elif scope in written:
            yield column, text_of(written[scope])


def _sorted(facts: Mapping[str, Value]) -> list[tuple[str, Value]]:
    return sorted(facts.items())


def in_order(columns: list[str]) -> list[str]:
    """Sort columns as a part is written."""
    return sorted(columns, key=lambda column: (_rank(column), column))


def _rank(column: str) -> int:
    return next(
        index
        for index, name in enumerate(COLUMNS)
        if column == name or (name.endswith(".") and column.startswith(name))
    )
