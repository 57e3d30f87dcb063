"""What an unquoted word in a catalog means: our own rules, since YAML's turn names and times into numbers."""

from __future__ import annotations

import re
from dataclasses import dataclass

from rules.diagnostics import Code, quote
from rules.yaml_nodes import PlainScalar

BOOLEAN_WORD = Code(
    name="boolean-word",
    about="An unquoted word that some YAML readers turn into true or false.",
    why="readers disagree on whether this is a word or a truth value",
    hint="write true or false, or put the word in quotes",
    example="paired: yes",
)
NO_VALUE = Code(
    name="no-value",
    about="A key or list item without a value, or with one of YAML's words for nothing.",
    why="nothing is neither a value nor an unknown, so no rule could say what it means",
    hint='write the value, `absent` to remove what was inherited, or `{unknown: "how to find out"}`',
    example="mass_kg: ~",
)
OCTAL_NUMBER = Code(
    name="octal-number",
    about="An unquoted number with a leading zero, or with the prefix 0o.",
    why="YAML readers count such numbers in eights: 010 is read as 8",
    hint="leave the zero out, or put text in quotes",
    example="minutes: 010",
)
BASE_60_NUMBER = Code(
    name="base-60-number",
    about="An unquoted group of digits with colons.",
    why="YAML readers count such numbers in sixties: 12:30 is read as 750",
    hint="put it in quotes",
    example="name: 12:30",
)
NOT_A_NUMBER = Code(
    name="not-a-number",
    about="YAML's words for infinity and for no number.",
    why="no calculation with it has a meaning",
    hint='write a number, or `{unknown: "how to measure it"}`',
    example="mass_kg: .inf",
)
HUGE_NUMBER = Code(
    name="huge-number",
    about="A number that is too large to be exact.",
    why="beyond 15 digits a number is rounded without a word",
    hint="check the number of digits",
    example="minutes: 9999999999999999",
)
UNCLEAR_NUMBER = Code(
    name="unclear-number",
    about="An unquoted number in a form that YAML readers do not agree on.",
    why="one reader takes it for a number and another for text",
    hint="write plain digits with at most one point between them, or put text in quotes",
    example="depth_mm: 1e2",
)

CODES = (
    BOOLEAN_WORD,
    NO_VALUE,
    OCTAL_NUMBER,
    BASE_60_NUMBER,
    NOT_A_NUMBER,
    HUGE_NUMBER,
    UNCLEAR_NUMBER,
)

_MOST_DIGITS = 15
"""A float holds every integer of 15 digits exactly."""

_NUMBER = re.compile(r"-?(?:0|[1-9][0-9]*)(?:\.[0-9]+)?")
_OCTAL = re.compile(r"[-+]?(?:0[0-9_]+(?:\.[0-9_]*)?|0o[0-7_]+)")
_BASE_60 = re.compile(r"[-+]?[0-9][0-9_]*(?::[0-5]?[0-9])+(?:\.[0-9_]*)?")
_NOT_A_NUMBER = re.compile(r"[-+]?\.inf|\.nan", re.IGNORECASE)
_UNCLEAR = re.compile(
    r"""[-+]?(?: 0x[0-9a-f_]+ | 0b[01_]+ | [0-9][0-9_]*(?:\.[0-9_]*)?(?:e[-+]?[0-9]+)?
        | \.[0-9][0-9_]*(?:e[-+]?[0-9]+)? )""",
    re.IGNORECASE | re.VERBOSE,
)
_NUMBER_LIKE = frozenset("0123456789+-.")
_BOOLEAN_WORDS = frozenset(
    form
    for word in ("y", "n", "yes", "no", "on", "off", "true", "false")
    for form in (word, word.capitalize(), word.upper())
) - {"true", "false"}
_NULL_WORDS = frozenset(("", "~", "null", "Null", "NULL"))


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an unquoted word has no agreed meaning."""

    code: Code
    message: str


def read_plain(word: str) -> PlainScalar | Refusal:
    """Read an unquoted scalar: a plain integer or decimal number, true, false, or else text.

    Example:
        >>> read_plain("62"), read_plain("6.5"), read_plain("true"), read_plain("2016-2019")
        (62, 6.5, True, '2016-2019')
    """
    if word in ("true", "false"):
        return word == "true"
    if word in _NULL_WORDS:
        return Refusal(NO_VALUE, f"{quote(word)} stands for nothing" if word else "there is no value here")
    if word in _BOOLEAN_WORDS:
        return Refusal(BOOLEAN_WORD, f"{quote(word)} may be read as a truth value")
    if word[0] in _NUMBER_LIKE:
        return _read_number(word)
    return word


def _read_number(word: str) -> PlainScalar | Refusal:
    if not _NUMBER.fullmatch(word):
        return _refuse_number(word) or word
    if sum(letter.isdigit() for letter in word) > _MOST_DIGITS:
        return Refusal(HUGE_NUMBER, f"a number has at most {_MOST_DIGITS} digits")
    return float(word) if "." in word else int(word)


def _refuse_number(word: str) -> Refusal | None:
    for pattern, code, fault in (
        (_OCTAL, OCTAL_NUMBER, "may be read in eights"),
        (_BASE_60, BASE_60_NUMBER, "may be read in sixties"),
        (_NOT_A_NUMBER, NOT_A_NUMBER, "is not a number"),
        (_UNCLEAR, UNCLEAR_NUMBER, "may be read as a number or as text"),
    ):
        if pattern.fullmatch(word):
            return Refusal(code, f"{quote(word)} {fault}")
    return None
