"""Currencies as ISO 4217 lists them, dates as dateutil counts them, totals that equal their lines."""

from __future__ import annotations

from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from itertools import pairwise, product

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st
from iso4217 import Currency

from rules.currency import DECIMALS, currency_decimals, minor_units, round_half_up, written_amount
from rules.labour_time import LabourTime, Piece, labour_time, shared_pieces, visit_time
from rules.money import Line, tax_within
from rules.quote import labour_line, part_line, totals
from rules.warranty import add_months, warranty_end

days = st.dates(date(1990, 1, 1), date(2100, 12, 31))
months = st.integers(0, 600)
currencies = st.sampled_from(sorted(DECIMALS))
rates = st.sampled_from([0.0, 5.5, 7.0, 13.5, 19.0, 20.0, 24.0, 25.5])
sold = st.builds(
    Line,
    kind=st.sampled_from(["part", "bundle", "labour", "preset", "freight"]),
    about=st.just("fulmar"),
    total=st.integers(0, 10**7),
)
used = st.builds(Line, kind=st.just("resale"), about=st.just("gannet"), total=st.integers(-(10**6), -1))
quotes = st.lists(sold | used, max_size=12)


def test_every_currency_has_the_decimals_that_the_iso_4217_list_gives():
    listed = {x.code: x.exponent for x in Currency if x.exponent is not None}
    assert listed == DECIMALS


@given(st.integers(-(10**9), 10**9), currencies)
def test_an_amount_comes_back_from_how_it_is_written(minor, currency):
    written = written_amount(minor, currency)
    assert minor_units(written, currency) == minor
    assert len(written.partition(".")[2]) == currency_decimals(currency)


@given(st.decimals(-(10**6), 10**6, places=5), st.integers(0, 4))
def test_rounding_is_half_away_from_zero(amount, decimals):
    step = Decimal(1).scaleb(-decimals)
    found = Decimal(round_half_up(f"{amount:f}", decimals))
    assert abs(found - amount) <= step / 2
    assert found == amount.quantize(step, ROUND_HALF_UP)
    assert abs(found) >= abs(amount) or abs(found - amount) < step / 2


@given(quotes, rates)
def test_totals_equal_their_lines(lines, rate):
    found = totals(lines, rate)
    assert found.due == sum(x.total for x in lines)
    assert found.to_pay - found.resale == found.due
    assert found.net + found.tax == found.to_pay
    assert found.tax == sum(tax_within(x.total, rate) for x in lines if x.kind != "resale")


@given(quotes, rates, st.randoms(use_true_random=False))
def test_the_order_of_lines_does_not_matter(lines, rate, rng):
    mixed = sorted(lines, key=lambda _: rng.random())
    assert totals(mixed, rate) == totals(lines, rate)


@given(st.integers(0, 10**6), st.integers(1, 50), rates, currencies)
def test_a_line_of_parts_is_pieces_times_price_and_splits_into_tax_and_net(minor, pieces, rate, currency):
    found = part_line(written_amount(minor, currency), pieces, rate, currency)
    price, tax, net = (minor_units(x, currency) for x in (found.price, found.tax, found.net))
    assert price == pieces * minor
    assert tax + net == price


@given(st.integers(0, 5000), st.integers(0, 10**6), rates, currencies)
def test_a_line_of_labour_is_off_by_half_a_unit_at_most(minutes, minor, rate, currency):
    found = labour_line(minutes, written_amount(minor, currency), rate, currency)
    price = minor_units(found.price, currency)
    assert abs(60 * price - minutes * minor) <= 30


@given(days, months)
def test_months_are_counted_as_dateutil_counts_them(day, count):
    assert add_months(day, count) == day + relativedelta(months=count)
    assert warranty_end(day.isoformat(), count) == (day + relativedelta(months=count)).isoformat()


@given(days, days, months)
def test_a_later_warranty_start_never_ends_earlier(one, other, count):
    first, later = sorted((one, other))
    assert add_months(first, count) <= add_months(later, count)


@given(days, months, months)
def test_a_longer_warranty_never_ends_earlier(day, one, other):
    short, long = sorted((one, other))
    assert add_months(day, short) <= add_months(day, long)


def roster(minutes: list[int], firsts: list[int]) -> LabourTime:
    return labour_time(
        [
            Piece(name=str(i), minutes=time, after=(str(firsts[i] % i),) if i and firsts[i] else ())
            for i, time in enumerate(minutes)
        ]
    )


def shortest(minutes: list[int], firsts: list[int]) -> int:
    """Give the shortest time for two, minute by minute: every choice of who begins what, or waits."""
    follows = [firsts[i] % i if i and firsts[i] else None for i in range(len(minutes))]
    states = {(tuple([-1] * len(minutes)), (0, 0))}
    for now in range(sum(minutes) + 1):
        if any(-1 not in begun and max(free) <= now for begun, free in states):
            return now
        states = {state for begun, free in states for state in begin(now, begun, free, minutes, follows)}
    raise AssertionError


def begin(now, begun, free, minutes, follows):
    """Give every state that may follow: each idle person begins something that is ready, or nothing."""
    idle = [person for person in (0, 1) if free[person] <= now]
    ready = [
        i
        for i, start in enumerate(begun)
        if start < 0 and (follows[i] is None or 0 <= begun[follows[i]] <= now - minutes[follows[i]])
    ]
    for picked in product([None, *ready], repeat=len(idle)):
        chosen = [x for x in picked if x is not None]
        if len(set(chosen)) == len(chosen):
            starts, ends = list(begun), list(free)
            for person, i in zip(idle, picked, strict=True):
                if i is not None:
                    starts[i], ends[person] = now, now + minutes[i]
            yield tuple(starts), tuple(ends)


@given(st.lists(st.tuples(st.integers(1, 4), st.integers(0, 4)), min_size=1, max_size=5))
def test_two_people_are_as_quick_as_any_roster_lets_them(work):
    minutes, firsts = [time for time, _ in work], [first for _, first in work]
    found = roster(minutes, firsts)
    assert found.is_least
    assert found.elapsed_two == shortest(minutes, firsts)


@given(st.lists(st.tuples(st.integers(0, 90), st.integers(0, 9)), min_size=1, max_size=25))
def test_a_roster_does_each_piece_once_in_order_and_nobody_does_two_at_once(work):
    minutes, firsts = [time for time, _ in work], [first for _, first in work]
    found = roster(minutes, firsts)
    start = {int(x.piece): x.start for x in found.turns}
    assert sorted(start) == list(range(len(work)))
    for i, begins in start.items():
        if i and firsts[i]:
            before = firsts[i] % i
            assert start[before] + minutes[before] <= begins
    for person in (1, 2):
        mine = sorted((x.start, x.start + minutes[int(x.piece)]) for x in found.turns if x.person == person)
        assert all(end <= begins for (_, end), (begins, _) in pairwise(mine))
    assert found.elapsed_two == max(begins + minutes[i] for i, begins in start.items())
    assert sum(minutes) <= 2 * found.elapsed_two
    assert found.elapsed_two <= found.person_minutes == sum(minutes)


@given(st.lists(st.integers(0, 60), min_size=1, max_size=8))
def test_shared_pieces_are_paid_for_once(minutes):
    pieces = [Piece(name=str(i), minutes=time) for i, time in enumerate(minutes)]
    once, saved = shared_pieces([pieces, pieces])
    assert list(once) == pieces
    assert saved == sum(minutes)


@pytest.mark.parametrize(("minutes", "after"), [((20, 30, 30), (0, 1, 1)), ((20, 30, 30), ())])
def test_numbered_pieces_are_rostered_as_named_ones(minutes, after):
    found = visit_time(minutes, after)
    assert found.person_minutes == 80
    assert found.elapsed_two == 50
    assert sorted(found.order) == [1, 2, 3]
