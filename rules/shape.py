"""Gives a node its shape as a catalog entry; what does not fit is said in our own words at its own place."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import TypeVar

from pydantic import ValidationError

from rules.catalog.entry import Entry
from rules.diagnostics import Code, Collector, Span, quote
from rules.nearest import did_you_mean
from rules.trail import Fault, Trail, fields_of, main_faults
from rules.yaml_nodes import Mapping, Node, Scalar, Sequence, find, key_span, plain, value_span

MISSING_KEY = Code(
    name="missing-key",
    about="An entry lacks a key that it must have. Shown at the entry.",
    why="without it the entry has no meaning",
    hint="add the key",
    example="parts:\n  - id: tern_pod",
)
UNKNOWN_KEY = Code(
    name="unknown-key",
    about="A key that this entry does not have.",
    why="a misspelt key would be ignored, and what it says would be lost",
    hint="delete the key, or see docs/authoring.md for the keys of this entry",
    example="mas_kg: 1.2",
)
WRONG_TYPE = Code(
    name="wrong-type",
    about="A value of another kind than its key takes: text for a number, a list for a text.",
    why="guessing what was meant would make facts out of slips",
    hint="write the kind of value that the message names",
    example='minutes: "ten"',
)
UNKNOWN_WORD = Code(
    name="unknown-word",
    about="A word outside the fixed list for its key.",
    why="the engine knows what to do with the words of the list only",
    hint="use one of the words that the message lists",
    example="mount: handlebar",
)
UNKNOWN_KIND = Code(
    name="unknown-kind",
    about="A rule, case or condition of a kind that does not exist.",
    why="nobody would evaluate it",
    hint="use one of the kinds that the message lists",
    example="kind: clearence",
)
BAD_ID = Code(
    name="bad-id",
    about="An id with other characters than small letters, digits, and single `-` or `_` between them.",
    why="ids are parts of addresses and of dotted paths, and must look the same everywhere",
    hint="use small letters, digits, `-` and `_`",
    example="id: Tern Pod",
)
BAD_CURRENCY = Code(
    name="bad-currency",
    about="A currency that is not three capital letters.",
    why="money without a currency code cannot be printed on a quote",
    hint="use the ISO 4217 code",
    example="currency: euro",
)
BAD_FACT_NAME = Code(
    name="bad-fact-name",
    about="A fact in a condition that is not named `bike.NAME`, `place.NAME` or `part.NAME`.",
    why="the engine could not tell whose fact is meant",
    hint="begin with `bike.`, `place.` or `part.`",
    example="fact: cooling",
)
OUT_OF_RANGE = Code(
    name="out-of-range",
    about="A number outside the range of its key.",
    why="no part or bike has such a value, so it is a slip",
    hint="check the digits and the unit",
    example="mass_kg: -1",
)
LIST_LENGTH = Code(
    name="list-length",
    about="A list or mapping with fewer or more members than its key takes.",
    why="an empty list says nothing, and a question has at most six visits",
    hint="add or remove members",
    example="cases: []",
)
TEXT_LENGTH = Code(
    name="text-length",
    about="A text that is empty, or longer than anyone would read.",
    why="people see this text",
    hint="write a sentence or a name",
    example='name: ""',
)
BAD_DATE = Code(
    name="bad-date",
    about="A day that is not in the calendar or not written as year, month, day.",
    why="prices and holds begin and end on days",
    hint="write it as 2026-01-31",
    example="first: 31.01.2026",
)
BAD_YEARS = Code(
    name="bad-years",
    about="Model years that are not written as one year or as a span.",
    why="a bike of an unlisted year is not verified, so the span must be plain",
    hint="write 2016-2019, or 2016 for one year; both ends count",
    example="years: 2016 to 2019",
)
REVERSED_SPAN = Code(
    name="reversed-span",
    about="A span of days or years whose end comes before its beginning.",
    why="no day or year lies in it",
    hint="swap the two ends",
    example="years: 2019-2016",
)
EMPTY_SELECTOR = Code(
    name="empty-selector",
    about="A selector that names no part, kind, line, tag or slot.",
    why="it would select every part that there is",
    hint="name at least one of part, kind, line, tag, slot",
    example="subject: {at: [rear_pods]}",
)
ONE_OPERATOR = Code(
    name="one-operator",
    about="A comparison without an operator, or with several.",
    why="with several it is not clear whether all of them or any of them is meant",
    hint="give one of is, in, at_least, at_most, has; join several comparisons with all or any",
    example="{fact: bike.year, at_least: 2018, at_most: 2020}",
)
EXCLUDES_ALWAYS = Code(
    name="excludes-always",
    about="A rule of kind excludes with neither `together_with` nor `when`.",
    why="its parts could never be fitted to anything",
    hint="say with what or when, or use a hold to stop selling",
    example="{id: no_gull, kind: excludes, says: Not together., subject: {tag: gull}}",
)
HALF_OPERATION = Code(
    name="half-operation",
    about="An operation with a subject and no action, or the reverse.",
    why="it would be done for no part, or for a part at no occasion",
    hint="give both, or neither for tear-down that others name in `after`",
    example="{id: seat_off, kind: operation, says: Take off the seat., minutes: 5, action: add}",
)

CODES = (
    MISSING_KEY,
    UNKNOWN_KEY,
    WRONG_TYPE,
    UNKNOWN_WORD,
    UNKNOWN_KIND,
    BAD_ID,
    BAD_CURRENCY,
    BAD_FACT_NAME,
    OUT_OF_RANGE,
    LIST_LENGTH,
    TEXT_LENGTH,
    BAD_DATE,
    BAD_YEARS,
    REVERSED_SPAN,
    EMPTY_SELECTOR,
    ONE_OPERATOR,
    EXCLUDES_ALWAYS,
    HALF_OPERATION,
)

E = TypeVar("E", bound=Entry)


def read_entry(model: type[E], node: Node, collector: Collector) -> tuple[E | None, tuple[Trail, ...]]:
    """Validate a node as an entry.

    Returns: The entry, or None with the trails of what is wrong, which is reported already.
    """
    try:
        return model.model_validate(plain(node)), ()
    except ValidationError as error:
        faults = main_faults(model, node, error)
        for fault in faults:
            _report(fault, node, collector)
        return None, tuple(fault.trail for fault in faults)


def _report(fault: Fault, node: Node, collector: Collector) -> None:
    if any(collector.blames(span) for span in _places(fault, node)):
        return
    _WORDING.get(fault.type, _odd_value)(fault, node, collector)


def _places(fault: Fault, node: Node) -> tuple[Span, ...]:
    path = fault.trail.path
    if path and (fault.trail.at_key or fault.type == "extra_forbidden"):
        return (key_span(node, *path),)
    # A value without an agreed meaning was reported by the reader, at the value or at its key.
    return value_span(node, *path), key_span(node, *path) if path else value_span(node)


def _missing_key(fault: Fault, node: Node, collector: Collector) -> None:
    *parent, key = fault.trail.path
    found, _ = find(node, tuple(parent))
    if collector.blames(found.head):
        return
    collector.report(
        MISSING_KEY, found.head, f"key {quote(key)} is missing here", f"add the key {quote(key)}"
    )


def _unknown_key(fault: Fault, node: Node, collector: Collector) -> None:
    key = str(fault.trail.path[-1])
    hint = did_you_mean(key, fields_of(fault.trail.model))
    collector.report(
        UNKNOWN_KEY, key_span(node, *fault.trail.path), f"this entry has no key {quote(key)}", hint
    )


def _wrong_type(fault: Fault, node: Node, collector: Collector) -> None:
    span = value_span(node, *fault.trail.path)
    found, _ = find(node, fault.trail.path)
    wanted = " or ".join(dict.fromkeys(_WANTED[name] for name in fault.types if name in _WANTED))
    collector.report(WRONG_TYPE, span, f"expected {wanted}, found {_describe(found)}")


def _unknown_word(fault: Fault, node: Node, collector: Collector) -> None:
    found, _ = find(node, fault.trail.path)
    words = fault.words
    hint = did_you_mean(str(found.value), words) if isinstance(found, Scalar) else None
    message = f"{_describe(found)} is not one of {', '.join(words)}"
    collector.report(UNKNOWN_WORD, value_span(node, *fault.trail.path), message, hint)


def _unknown_kind(fault: Fault, node: Node, collector: Collector) -> None:
    found, _ = find(node, fault.trail.path)
    if not isinstance(found, Mapping):
        collector.report(WRONG_TYPE, found.span, f"expected a mapping, found {_describe(found)}")
        return
    if fault.type == "condition":
        collector.report(UNKNOWN_KIND, found.head, fault.message)
        return
    kind = found.get("kind")
    if kind is None:
        collector.report(MISSING_KEY, found.head, fault.message, "add the key `kind`")
        return
    hint = did_you_mean(str(plain(kind)), fault.message.partition(" one of ")[2].split(", "))
    if not collector.blames(kind.span):
        collector.report(UNKNOWN_KIND, kind.span, fault.message, hint)


def _bad_text(fault: Fault, node: Node, collector: Collector) -> None:
    code, what = _PATTERNS.get(fault.pattern[:4], (BAD_ID, "an id"))
    path = fault.trail.path
    span = key_span(node, *path) if fault.trail.at_key else value_span(node, *path)
    word = path[-1] if fault.trail.at_key else plain(find(node, path)[0])
    collector.report(code, span, f"{quote(word)} is not {what}")


def _text_length(fault: Fault, node: Node, collector: Collector) -> None:
    path = fault.trail.path
    span = key_span(node, *path) if fault.trail.at_key else value_span(node, *path)
    collector.report(TEXT_LENGTH, span, f"the text {'is empty' if fault.limit == 1 else 'is too long'}")


def _list_length(fault: Fault, node: Node, collector: Collector) -> None:
    found, _ = find(node, fault.trail.path)
    side = "at most" if fault.type == "too_long" else "at least"
    collector.report(LIST_LENGTH, found.head, f"{side} {fault.limit} expected here, found {fault.length}")


def _out_of_range(fault: Fault, node: Node, collector: Collector) -> None:
    found, _ = find(node, fault.trail.path)
    message = f"{_describe(found)} is not {_BOUNDS[fault.type]} {fault.limit}"
    collector.report(OUT_OF_RANGE, value_span(node, *fault.trail.path), message)


def _odd_value(fault: Fault, node: Node, collector: Collector) -> None:
    collector.report(WRONG_TYPE, value_span(node, *fault.trail.path), "this value cannot be used here")


def _own(code: Code, *, at_head: bool = False) -> Callable[[Fault, Node, Collector], None]:
    # The models' own checks word their message themselves.
    def report(fault: Fault, node: Node, collector: Collector) -> None:
        found, _ = find(node, fault.trail.path)
        collector.report(code, found.head if at_head else found.span, fault.message)

    return report


def _describe(node: Node) -> str:
    match node:
        case Mapping():
            return "a mapping"
        case Sequence():
            return "a list"
        case Scalar(value=bool() as flag):
            return "true" if flag else "false"
        case Scalar(value=str() as words):
            return f"text {quote(words)}"
        case Scalar(value=number):
            return f"the number {number}"


_WANTED = {
    "bool_type": "true or false",
    "float_type": "a number",
    "int_type": "a whole number",
    "int_from_float": "a whole number",
    "string_type": "text",
    "tuple_type": "a list",
    "dict_type": "a mapping",
    "model_type": "a mapping",
    "model_attributes_type": "a mapping",
}

_BOUNDS = {
    "greater_than": "above",
    "greater_than_equal": "at least",
    "less_than": "below",
    "less_than_equal": "at most",
}

# Patterns are told apart by how they begin; all others are ids.
_PATTERNS: dict[str, tuple[Code, str]] = {
    "^[A-": (BAD_CURRENCY, "a currency code"),
    "^(bi": (BAD_FACT_NAME, "the name of a fact"),
}


def _each(
    names: Iterable[str], report: Callable[[Fault, Node, Collector], None]
) -> dict[str, Callable[[Fault, Node, Collector], None]]:
    return dict.fromkeys(names, report)


_WORDING: dict[str, Callable[[Fault, Node, Collector], None]] = {
    "missing": _missing_key,
    "extra_forbidden": _unknown_key,
    "literal_error": _unknown_word,
    "string_pattern_mismatch": _bad_text,
    **_each(("rule_kind", "case_kind", "condition"), _unknown_kind),
    **_each(_WANTED, _wrong_type),
    **_each(_BOUNDS, _out_of_range),
    **_each(("string_too_short", "string_too_long"), _text_length),
    **_each(("too_short", "too_long"), _list_length),
    "bad_date": _own(BAD_DATE),
    "bad_years": _own(BAD_YEARS),
    "years_reversed": _own(REVERSED_SPAN),
    "days_reversed": _own(REVERSED_SPAN, at_head=True),
    "empty_selector": _own(EMPTY_SELECTOR, at_head=True),
    "one_operator": _own(ONE_OPERATOR, at_head=True),
    "excludes_always": _own(EXCLUDES_ALWAYS, at_head=True),
    "half_operation": _own(HALF_OPERATION, at_head=True),
}
