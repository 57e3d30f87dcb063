"""Faults of a request, field by field: stable codes and our own sentences.

The validator's messages and its context can hold what the caller sent, so nothing of them is used but limits.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from rules.nearest import nearest
from service.shapes.base import Asked


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing that is wrong with a request.

    `field` is a JSON pointer into it; `nearest` a key that may have been meant.
    """

    field: str
    code: str
    says: str
    nearest: str | None = None


SENTENCES: Mapping[str, str] = {
    "malformed-json": "this is not JSON",
    "missing-field": "this field is needed",
    "unknown-field": "there is a key here that is not known",
    "wrong-type": "this value has the wrong type",
    "not-an-id": "an id has small letters, digits, and single - or _ between them",
    "not-a-choice": "this value is none of {expected}",
    "not-a-day": "a day is written 2027-03-31, and must exist",
    "not-finite": "this number is not finite",
    "too-small": "this number is below {limit}",
    "not-positive": "this number is not above zero",
    "too-large": "this number is above {limit}",
    "too-short": "this is shorter than {limit}",
    "too-long": "this is longer than {limit}",
    "not-text": "this text holds a character that no text can hold",
}
"""What each code says. `{limit}` and `{expected}` come from our own models."""

_CODES: Mapping[str, str] = {
    "json_invalid": "malformed-json",
    "missing": "missing-field",
    "extra_forbidden": "unknown-field",
    "literal_error": "not-a-choice",
    "enum": "not-a-choice",
    "finite_number": "not-finite",
    "string_pattern_mismatch": "not-an-id",
    "greater_than": "not-positive",
    "greater_than_equal": "too-small",
    "less_than_equal": "too-large",
    "string_too_short": "too-short",
    "too_short": "too-short",
    "string_too_long": "too-long",
    "too_long": "too-long",
    "int_parsing_size": "too-large",
    "string_unicode": "not-text",
}
_LIMITS = ("ge", "le", "min_length", "max_length")


def faults(errors: Iterable[Mapping[str, Any]]) -> tuple[Fault, ...]:
    """Translate the validator's errors, each field and code once, in the order of the request."""
    found = {(fault.field, fault.code): fault for fault in map(_fault, errors)}
    return tuple(
        fault for fault in found.values() if not any(_explains(other, fault) for other in found.values())
    )


def _explains(other: Fault, fault: Fault) -> bool:
    # A list with a faulty item is counted without it; a value of several types is tried as each of them.
    if fault.code == "too-short":
        return other.field.startswith(f"{fault.field}/")
    return fault.code == "wrong-type" and other.code != "wrong-type" and other.field == fault.field


def _fault(error: Mapping[str, Any]) -> Fault:
    code = _code(error["type"])
    loc = error["loc"] if code != "malformed-json" else error["loc"][:1]
    return Fault(field=_pointer(loc), code=code, says=_says(code, error), nearest=_nearest(code, loc))


def _code(kind: str) -> str:
    if kind.startswith("date_"):
        return "not-a-day"
    return _CODES.get(kind, "wrong-type")


def _says(code: str, error: Mapping[str, Any]) -> str:
    context = error.get("ctx", {})
    limit = next((context[name] for name in _LIMITS if name in context), "allowed")
    return SENTENCES[code].format(limit=limit, expected=context.get("expected", "the choices"))


def _pointer(loc: tuple[str | int, ...]) -> str:
    # Steps that are no field's name are the caller's own words, or the validator's.
    steps = [str(step) for step in loc[1:] if isinstance(step, int) or step in Asked.names]
    return "/" + "/".join([str(loc[0]), *steps])


def _nearest(code: str, loc: tuple[str | int, ...]) -> str | None:
    return nearest(str(loc[-1]), Asked.names) if code == "unknown-field" else None
