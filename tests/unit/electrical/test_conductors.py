"""Conductors, cables and fuses at the edges of what is known."""

from __future__ import annotations

import pytest

from rules.electrical.ampacity import ampacity
from rules.electrical.cable import amplifier_voltage
from rules.electrical.cable_choice import choose_cable
from rules.electrical.conductor import conductor
from rules.electrical.fuse import choose_fuse
from rules.errors import MalformedQuestion


@pytest.mark.parametrize(
    "size", ["", "8", "8AWG ", "8 AWG", "0 AWG", "1/0 AWG", "4/0 AWG", "6 mm2", "2.5 mm2", "6mm2"]
)
def test_sizes_are_read_as_they_are_printed(size):
    if size in {"", "8"}:
        with pytest.raises(MalformedQuestion):
            conductor(size)
    else:
        assert conductor(size).area_mm2 > 0


@pytest.mark.parametrize(
    "size", ["41 AWG", "5/0 AWG", "0/0 AWG", "1.5 AWG", "2/0 mm2", "0.01 mm2", "500 mm2", "8 swg", "-2 AWG"]
)
def test_a_size_that_does_not_exist_is_refused_with_an_example(size):
    with pytest.raises(MalformedQuestion, match="not the size of a cable") as caught:
        conductor(size)
    assert "8 AWG" in caught.value.cure


def test_nought_is_one_nought():
    assert conductor("0 AWG") == conductor("1/0 AWG")


def test_a_cable_thinner_than_the_table_has_no_ampacity():
    assert ampacity("20 AWG").derated_a is None


def test_insulation_between_two_classes_counts_as_the_lower():
    assert ampacity("12 AWG", 104.9).table_a == 40.0
    assert ampacity("12 AWG", 105.0).table_a == 45.0


def test_a_metric_size_carries_what_the_next_thinner_gauge_does():
    assert ampacity("6 mm2", 105.0).table_a == ampacity("10 AWG", 105.0).table_a


def test_a_run_that_no_size_serves_has_no_cable():
    found = choose_cable(400.0, 40.0)
    assert found.size is None
    assert found.area_mm2 is None


def test_power_that_does_not_get_through_is_told_as_none():
    assert amplifier_voltage(12.0, 0.5, 100.0).amplifier_v is None


@pytest.mark.parametrize(
    ("maker", "carries", "draws", "rating", "trouble"),
    [
        (40.0, 40.0, 0.0, 40.0, "none"),
        (40.0, 39.9, 0.0, None, "cable_too_thin"),
        (55.0, 80.0, 0.0, None, "no_standard_rating"),
        (40.0, 80.0, 32.0, 40.0, "none"),
        (40.0, 80.0, 32.1, 40.0, "draws_more_than_it_carries"),
    ],
)
def test_a_fuse_is_the_makers_within_the_cable(maker, carries, draws, rating, trouble):
    found = choose_fuse(maker, carries, draws)
    assert (found.rating_a, found.trouble) == (rating, trouble)


def test_a_cable_of_45_ampere_never_gets_a_larger_fuse():
    assert choose_fuse(60.0, 45.0).rating_a is None
    assert choose_fuse(60.0, 45.0).most_a == 40.0
