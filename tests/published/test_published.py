"""Every published value that a calculation covers is met; one check per topic."""

from __future__ import annotations

from collections import Counter

import pytest

from rules.calculations.registry import CALCULATIONS
from tests.published.reading import WORDS, Row, files, not_covered, rows


def check(topic: str) -> pytest.MarkDecorator:
    """Parametrise over a topic's rows; each id names the source, and whether it was read or recalled."""
    return pytest.mark.parametrize("row", rows(topic), ids=str)


def meets(row: Row) -> bool:
    assert row.agrees(), f"{row.calculated()} is not {row.expected['value']} {row.expected['unit']}"
    return True


def test_every_topic_has_its_check():
    covered = {topic for topic in files() if rows(topic)}
    assert {f"test_{topic}" for topic in covered} <= set(globals())


def test_every_row_names_a_source_and_where_it_comes_from():
    for topic in files():
        for row in rows(topic):
            assert row.source, row.id
            assert row.provenance in WORDS, row.id
            assert row.calculation in CALCULATIONS, row.id


def test_no_row_stands_twice_and_each_that_is_not_covered_has_its_reason():
    held = [row.id for topic in files() for row in rows(topic)] + [row for row, _ in not_covered()]
    assert [row for row, count in Counter(held).items() if count > 1] == []
    assert all(reason for _, reason in not_covered())


@check("amplifiers")
def test_amplifiers(row):
    assert meets(row)


@check("batteries")
def test_batteries(row):
    assert meets(row)


@check("charging")
def test_charging(row):
    assert meets(row)


@check("conductors")
def test_conductors(row):
    assert meets(row)


@check("loads")
def test_loads(row):
    assert meets(row)


@check("protection")
def test_protection(row):
    assert meets(row)


@check("boxes")
def test_boxes(row):
    assert meets(row)


@check("dates")
def test_dates(row):
    assert meets(row)


@check("filters")
def test_filters(row):
    assert meets(row)


@check("hearing")
def test_hearing(row):
    assert meets(row)


@check("levels")
def test_levels(row):
    assert meets(row)


@check("money")
def test_money(row):
    assert meets(row)


@check("presets")
def test_presets(row):
    assert meets(row)


@check("speakers")
def test_speakers(row):
    assert meets(row)
