"""Every published value that a calculation covers is met; one check per topic."""

from __future__ import annotations

from collections import Counter

import pytest

from tests.published.reading import WORDS, Row, calculations, files, not_covered, rows


def check(topic: str) -> pytest.MarkDecorator:
    """Parametrise over a topic's rows; each id names the source, and whether it was read or recalled."""
    return pytest.mark.parametrize("row", rows(topic), ids=str)


def meets(row: Row) -> bool:
    assert row.agrees(), f"{row.calculated()} is not {row.expected['value']} {row.expected['unit']}"
    return True


def test_every_topic_has_its_check():
    assert {f"test_{topic}" for topic in files()} <= set(globals())


def test_every_row_names_a_source_and_where_it_comes_from():
    for topic in files():
        for row in rows(topic):
            assert row.source, row.id
            assert row.provenance in WORDS, row.id
            assert row.calculation in calculations(), row.id


def test_no_row_stands_twice_and_each_that_is_not_covered_has_its_reason():
    held = [row.id for topic in files() for row in rows(topic)] + [row for row, _ in not_covered()]
    assert [row for row, count in Counter(held).items() if count > 1] == []
    assert all(reason for _, reason in not_covered())
