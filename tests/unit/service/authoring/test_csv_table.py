"""Tables are read cell by cell, each with its place."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rules.diagnostics import Collector
from service.authoring.csv_table import CODES, read_table
from service.authoring.part_table import text_of, value_of

LETTERS = st.text(
    st.characters(codec="utf-8", exclude_categories=["C", "Z"]) | st.sampled_from(' ,"\n'), max_size=8
)


def read(text: str):
    collector = Collector()
    table = read_table(text, "t.csv", collector, known=("id", "name", "spec."), needed="id")
    return table, [(found.code, *found.span[1:3]) for found in collector.sorted({})]


@settings(deadline=None)
@given(st.lists(st.tuples(LETTERS, LETTERS), min_size=1, max_size=5), st.sampled_from(["\n", "\r\n"]))
def test_a_table_is_read_as_pythons_own_reader_reads_it(rows, ends):
    rows = [(f"part-{index}{one.strip()}", other) for index, (one, other) in enumerate(rows)]
    text = io.StringIO()
    csv.writer(text, lineterminator=ends).writerows([("id", "name"), *rows])
    table, faults = read(text.getvalue())
    assert faults == []
    told = [(row["id"].text, row["name"].text if "name" in row else "") for row in table.rows]
    assert told == [(one.strip(), other.strip()) for one, other in rows]


def test_each_cell_has_the_line_and_column_where_it_begins():
    table, _ = read('id,name,spec.depth_mm\nö, two ,3\n\n"a,b","x\ny",5\nlast,,\n')
    places = [(cell.text, cell.span.line, cell.span.column) for row in table.rows for cell in row.values()]
    assert places == [
        ("ö", 2, 1),
        ("two", 2, 4),
        ("3", 2, 9),
        ("a,b", 4, 1),
        ("x\ny", 4, 7),
        ("5", 5, 4),
        ("last", 6, 1),
    ]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        ("", [("table-column", 1, 1)]),
        ('id,name\na,"b\n', [("table-unreadable", 2, 3)]),
        ('id,name\na,"b"c\n', [("table-unreadable", 2, 6)]),
        ("id,nmae,name,name\n", [("table-column", 1, 4), ("table-column", 1, 14)]),
        ("name\nx\n", [("table-column", 1, 1)]),
        ("id,name\na\nb,c,d\n", [("table-row", 2, 1), ("table-row", 3, 1)]),
        ("id,name\n,x\n", [("table-cell", 2, 1)]),
        ("id,name\na,x\na,y\n", [("table-repeated", 3, 1)]),
    ],
)
def test_every_bad_row_is_told_with_its_place(text, faults):
    assert read(text)[1] == faults


def test_all_codes_say_what_why_and_what_to_do():
    assert len({code.name for code in CODES}) == len(CODES)
    assert all(code.about and code.why and code.hint and code.example for code in CODES)


@pytest.mark.parametrize(
    ("column", "text"),
    [
        ("spec.depth_mm", "58.5"),
        ("spec.depth_mm", "58"),
        ("spec.shape", "sk_oval"),
        ("spec.round", "true"),
        ("mass_kg", "unknown: weigh it"),
        ("at", "pods lids"),
        ("name", "12"),
    ],
)
def test_a_cell_that_is_read_and_written_is_the_same_cell(column, text):
    assert text_of(value_of(column, text)) == text
