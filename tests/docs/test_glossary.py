"""docs/glossary.md names what the code has, and the code keeps to its words."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
TERMS, _, UNUSED = PAGE.partition("## Words that are not used")
SOURCES = sorted(file for folder in ("rules", "service") for file in (ROOT / folder).rglob("*.py"))
WORD = re.compile(r"[A-Z]+(?![a-z])|[A-Z]?[a-z]+")


def rows(text: str) -> Iterator[list[str]]:
    """Read the tables of a text, headings as well."""
    for line in text.splitlines():
        if line.startswith("| "):
            yield [cell.strip() for cell in line.strip("|").split("|")]


def names_in_code() -> list[str]:
    return [name for cells in rows(TERMS) for name in re.findall(r"`([^`]+)`", cells[2])]


def forbidden() -> list[tuple[set[str], set[str]]]:
    """Give each row's words, with the names and texts that may hold them."""
    return [
        (set(cells[0].split(", ")), set(re.findall(r"`([^`]+)`", cells[2])))
        for cells in rows(UNUSED)
        if len(cells) == 3 and cells[0] != "word"
    ]


def hidden() -> set[str]:
    """Give the words that riders and shoppers never read."""
    found = [cells[0] for cells in rows(UNUSED) if len(cells) == 2 and cells[0] != "word"]
    return {word for cell in found for word in cell.split(", ")}


def identifiers(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        match node:
            case (
                ast.Name(id=name) | ast.Attribute(attr=name) | ast.arg(arg=name) | ast.keyword(arg=str(name))
            ):
                yield name
            case ast.ClassDef(name=name) | ast.FunctionDef(name=name) | ast.AsyncFunctionDef(name=name):
                yield name


def texts(tree: ast.AST) -> Iterator[str]:
    """Give every text that is no docstring."""
    alone = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
    for node in ast.walk(tree):
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in alone:
            yield node.value


def words_of(text: str) -> set[str]:
    return {word.lower() for word in WORD.findall(text)}


def used(names: Iterable[str], words: set[str], exceptions: set[str]) -> list[str]:
    """Give what holds one of the words, outside of the exceptions."""
    return [text for text in names if text not in exceptions and not words.isdisjoint(words_of(text))]


@cache
def tree_of(file: Path) -> ast.AST:
    return ast.parse(file.read_text(encoding="utf-8"))


@cache
def held() -> dict[str, set[str]]:
    """Give by file what has a name and what is a text."""
    return {
        file.relative_to(ROOT).as_posix(): {*identifiers(tree_of(file)), *texts(tree_of(file))}
        for file in SOURCES
    }


@cache
def known() -> set[str]:
    return set().union(*held().values())


@pytest.mark.parametrize("name", names_in_code())
def test_every_name_is_in_the_code(name):
    assert name in known()


def test_no_word_is_defined_twice():
    words = [word for cells in rows(TERMS) if cells[0] != "word" for word in cells[0].split(", ")]
    assert sorted(words) == sorted(set(words))


@pytest.mark.parametrize(("words", "exceptions"), forbidden(), ids=lambda found: " ".join(sorted(found)))
def test_a_word_that_is_not_used_is_in_no_name_and_no_text(words, exceptions):
    for file, names in held().items():
        if file not in exceptions:
            assert used(names, words, exceptions) == [], file


def test_every_exception_is_needed():
    for words, exceptions in forbidden():
        for exception in exceptions:
            assert used(held().get(exception, known()), words, exceptions - {exception}), exception


SHOWN = re.compile(r"^\s*(?:- )?(?:name|says|ask): (.*)$", re.MULTILINE)


def test_what_riders_read_says_what_stays_and_not_what_is_lost():
    assert hidden()
    assert used(texts(tree_of(ROOT / "rules" / "explain.py")), hidden(), set()) == []
    for file in sorted((ROOT / "catalog_demo").rglob("*.yaml")):
        shown = SHOWN.findall(file.read_text(encoding="utf-8"))
        assert used(shown, hidden(), set()) == [], file
