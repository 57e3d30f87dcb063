"""Rounding: half up, once."""

from __future__ import annotations

from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from rules.money import labour_price, tax_within

amounts = st.integers(0, 10**9)


@given(st.integers(0, 10_000), st.integers(0, 100_000))
def test_labour_is_minutes_times_rate_rounded_half_up(minutes, rate):
    exact = Fraction(minutes * rate, 60)
    assert (
        labour_price(minutes, rate) - Fraction(1, 2) <= exact < labour_price(minutes, rate) + Fraction(1, 2)
    )


@given(st.integers(0, 5_000), st.integers(0, 5_000), st.integers(0, 100_000))
def test_labour_split_over_two_lines_differs_by_one_unit_at_most(one, other, rate):
    together = labour_price(one + other, rate)
    assert abs(labour_price(one, rate) + labour_price(other, rate) - together) <= 1


@given(amounts, st.integers(0, 40_000))
def test_tax_within_is_the_part_above_the_net_amount_rounded_half_up(gross, rate):
    percent = rate / 1000
    exact = gross * Fraction(rate, 100_000 + rate)
    found = tax_within(gross, percent)
    assert found - Fraction(1, 2) <= exact < found + Fraction(1, 2)
    assert 0 <= found <= gross


@given(amounts, amounts, st.sampled_from([0.0, 5.5, 7.0, 19.0, 20.0, 25.0]))
def test_tax_grows_with_the_amount(one, other, percent):
    less, more = sorted((one, other))
    assert tax_within(less, percent) <= tax_within(more, percent)
