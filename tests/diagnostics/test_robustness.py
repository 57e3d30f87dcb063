"""Whatever bytes stand in a catalog's files, the checker answers with diagnostics and does not fall over."""

from __future__ import annotations

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from rules.diagnostics import full, to_dict
from rules.registry import CODES
from tests.diagnostics.base import FILES, write
from tests.diagnostics.fault import check

NAMES = sorted(FILES)
SCRAPS = st.sampled_from(
    [
        "",
        "\n",
        " ",
        "  - ",
        ": ",
        "[",
        "]",
        "{",
        "}",
        '"',
        "&a ",
        "*a",
        "!!x ",
        "<<: ",
        "---\n",
        "? ",
        "| \n",
        "~",
        "yes",
        "010",
        ".inf",
        "-1",
        "1e999",
        "99999999999999999999",
        "absent",
        "{unknown: look}",
        "{value: 1, source: {kind: assumed, ref: x, date: 2024-01-01}}",
        "[[1, {a: [b]}]]",
        "{kind: [x]}",
        "all",
        "when: {not: {all: []}}",
        "é\u0000",
        "$side",
    ]
)


def found_in(name: str, content: bytes) -> None:
    with tempfile.TemporaryDirectory() as directory:
        root = write(Path(directory))
        (root / name).write_bytes(content)
        for found in check(root):
            assert found.code in CODES
            assert found.span.line >= 1
            assert found.span.column >= 1
            assert found.span.end_column > found.span.column
            assert full(found)
            assert to_dict(found)["file"]


@settings(max_examples=60, deadline=None)
@given(name=st.sampled_from(NAMES), content=st.binary(max_size=300))
def test_any_bytes_are_answered(name, content):
    found_in(name, content)


@settings(max_examples=60, deadline=None)
@given(
    name=st.sampled_from(NAMES), content=st.text(alphabet="ab:-[]{},\"'#&*!|>%@` \n\t0.1~?<=", max_size=120)
)
def test_any_text_of_marks_is_answered(name, content):
    found_in(name, content.encode())


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_a_catalog_with_scraps_in_wrong_places_is_answered(data):
    name = data.draw(st.sampled_from(NAMES))
    text = FILES[name]
    for _ in range(data.draw(st.integers(1, 3))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 40)))
        text = text[:start] + data.draw(SCRAPS) + text[end:]
    found_in(name, text.encode())


@settings(max_examples=300, deadline=None)
@given(data=st.data())
def test_a_catalog_with_a_value_replaced_is_answered(data):
    name = data.draw(st.sampled_from(NAMES))
    lines = FILES[name].split("\n")
    index = data.draw(st.integers(0, len(lines) - 1))
    key, colon, _ = lines[index].partition(": ")
    lines[index] = key + colon + data.draw(SCRAPS)
    found_in(name, "\n".join(lines).encode())
