"""Edits change what they are asked to, and no other letter of the file."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from service.authoring.emit import block, flow, item, scalar
from service.authoring.sheet import CannotEdit, Sheet

DEMO = sorted((Path(__file__).parents[4] / "catalog_demo").rglob("*.yaml"))
LISTS = ("trims", "entries", "parts", "rules", "cases", "places", "connector_types")


@pytest.mark.parametrize("path", DEMO, ids=lambda path: path.name)
def test_a_new_member_of_a_list_leaves_every_line_of_the_file_as_it_was(path):
    text = path.read_text(encoding="utf-8")
    sheet = Sheet(text)
    for key in LISTS:
        if sheet.find(key) is not None:
            lines = sheet.with_item((key,), "- {id: new, name: New}\n").text.splitlines()
            (added,) = [index for index, line in enumerate(lines) if line.strip() == "- {id: new, name: New}"]
            assert [*lines[:added], *lines[added + 1 :]] == text.splitlines()
            assert len(yaml.safe_load("\n".join(lines))[key]) == len(yaml.safe_load(text)[key]) + 1


@pytest.mark.parametrize(
    "path", [path for path in DEMO if path.parent.name == "prices"], ids=lambda path: path.name
)
def test_a_new_price_leaves_the_others_their_lines_and_comments(path):
    text = path.read_text(encoding="utf-8")
    sheet = Sheet(text).with_key(("prices",), "gull", "100").replaced(("prices", "tern-65"), "13950")
    before, after = text.splitlines(), sheet.text.splitlines()
    assert [line for line in before if line not in after] == [
        f"  tern-65: {Sheet(text).value('prices', 'tern-65')}"
    ]
    assert [line for line in after if line not in before] == ["  tern-65: 13950", "  gull: 100"]


@pytest.mark.parametrize(
    ("text", "edited"),
    [
        ("a:\n  - x: 1  # one\n# tail\n", "a:\n  - x: 1  # one\n  - y: 2\n# tail\n"),
        ("a:\n- x: |\n    long\n    text\nb: 1", "a:\n- x: |\n    long\n    text\n- y: 2\nb: 1"),
        ("a:\n  - {x: [1,\n      2]}", "a:\n  - {x: [1,\n      2]}\n  - y: 2\n"),
        ("a:\r\n  - x: 1\r\nb: 2\r\n", "a:\r\n  - x: 1\r\n  - y: 2\r\nb: 2\r\n"),
        ("a:\n  - n: Möwe \U0001f426  # ü\nb: 2\n", "a:\n  - n: Möwe \U0001f426  # ü\n  - y: 2\nb: 2\n"),
    ],
)
def test_a_member_goes_after_the_last_whatever_that_looks_like(text, edited):
    assert Sheet(text).with_item(("a",), "- y: 2\n").text == edited


@pytest.mark.parametrize(
    ("text", "edited"),
    [
        ("a: {}", "a: {k: 1}"),
        ("a: {x: 2}  # c", "a: {x: 2, k: 1}  # c"),
        ("a:\n  x: 2\n", "a:\n  x: 2\n  k: 1\n"),
    ],
)
def test_a_key_goes_into_mappings_of_either_style(text, edited):
    assert Sheet(text).with_key(("a",), "k", "1").text == edited


@pytest.mark.parametrize("text", ["a: [1]", "a: []", "a: 1", "b: 1", "", "a: [", "a:\n"])
def test_what_cannot_be_extended_is_said_and_not_guessed(text):
    with pytest.raises(CannotEdit):
        Sheet(text).with_item(("a",), "- 2\n")


SCALARS = st.one_of(
    st.text(st.characters(codec="utf-8", exclude_categories=["C"])),
    st.booleans(),
    st.integers(),
    st.floats(-1e6, 1e6).map(lambda number: round(number, 3)),
)
KEYS = st.text("abz0_.- :#é", max_size=6)
TREES = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=3) | st.dictionaries(KEYS, inner, max_size=3)
)


@settings(deadline=None)
@given(st.dictionaries(KEYS, TREES, min_size=1, max_size=4))
def test_whatever_is_written_is_read_back(tree):
    assert yaml.safe_load(block(tree)) == tree
    assert yaml.safe_load(flow(tree)) == tree
    assert yaml.safe_load(item(tree, 2)) == [tree]


@settings(deadline=None)
@given(SCALARS)
def test_a_scalar_never_turns_into_something_else(value):
    assert yaml.safe_load(scalar(value)) == value
