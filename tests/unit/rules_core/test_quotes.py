"""Amounts, warranties and labour as a person writes them."""

from __future__ import annotations

import pytest

from rules.currency import CALCULATIONS as CURRENCY
from rules.currency import currency_decimals, minor_units, round_half_up
from rules.errors import MalformedQuestion
from rules.labour_time import Piece, labour_time, shared_pieces, visit_time
from rules.quote import labour_line
from rules.warranty import warranty_end


@pytest.mark.parametrize("currency", ["EUX", "eur", "", "XAU"])
def test_what_is_no_currency_with_minor_units_is_refused(currency):
    with pytest.raises(MalformedQuestion) as refused:
        currency_decimals(currency)
    assert refused.value.field == "currency"


@pytest.mark.parametrize("written", ["", "1,50", "1e3", "nan", "inf", "1.2.3", "١٢", "1" * 19, " 1", "1_000"])
def test_only_plain_decimal_numbers_are_amounts(written):
    with pytest.raises(MalformedQuestion) as refused:
        round_half_up(written, 2)
    assert refused.value.field == "amount"


def test_an_amount_has_no_more_decimals_than_its_currency():
    assert minor_units("95", "JPY") == 95
    with pytest.raises(MalformedQuestion, match="more decimals"):
        minor_units("95.5", "JPY")


def test_an_hour_and_a_half_at_ninety_five_is_written_with_two_decimals():
    assert labour_line(90, "95", 0, "EUR").price == "142.50"
    assert labour_line(1, "0.30", 0, "EUR").price == "0.01"


def test_a_calculation_of_money_says_what_it_rests_on():
    assert {x.id for x in CURRENCY} == {"currency_decimals", "round_half_up"}
    assert all(x.cautions for x in CURRENCY)


@pytest.mark.parametrize(
    ("start", "months", "last"),
    [("2027-05-31", 24, "2029-05-31"), ("2027-10-31", 4, "2028-02-29"), ("2028-02-29", 12, "2029-02-28")],
)
def test_a_warranty_ends_with_the_same_day_or_the_last_of_a_shorter_month(start, months, last):
    assert warranty_end(start, months) == last


@pytest.mark.parametrize("start", ["2027-02-30", "20270131", "2027-W01-1", "31.05.2027", ""])
def test_what_is_no_day_is_refused(start):
    with pytest.raises(MalformedQuestion) as refused:
        warranty_end(start, 1)
    assert refused.value.field == "start"


def test_no_warranty_ends_after_the_calendar():
    with pytest.raises(MalformedQuestion) as refused:
        warranty_end("9999-12-31", 1)
    assert refused.value.field == "months"


OFF = Piece(name="fairing off", minutes=20)
LEFT = Piece(name="left front", minutes=30, after=("fairing off",))
RIGHT = Piece(name="right front", minutes=30, after=("fairing off",))


def test_two_people_wait_for_the_fairing_and_then_work_side_by_side():
    found = labour_time((RIGHT, OFF, LEFT))
    assert (found.person_minutes, found.elapsed_two, found.is_least) == (80, 50, True)
    assert found.order[0] == "fairing off"


def test_a_shared_fairing_comes_off_once():
    pieces, saved = shared_pieces([(OFF, LEFT), (OFF, RIGHT)])
    assert pieces == (OFF, LEFT, RIGHT)
    assert saved == 20


@pytest.mark.parametrize(
    ("pieces", "field"),
    [
        ((OFF, OFF), "pieces"),
        ((LEFT,), "after"),
        ((Piece(name="a", minutes=1, after=("b",)), Piece(name="b", minutes=1, after=("a",))), "after"),
    ],
)
def test_work_that_cannot_be_ordered_is_refused(pieces, field):
    with pytest.raises(MalformedQuestion) as refused:
        labour_time(pieces)
    assert refused.value.field == field


def test_two_jobs_agree_on_what_they_share():
    with pytest.raises(MalformedQuestion) as refused:
        shared_pieces([(OFF,), (Piece(name="fairing off", minutes=25),)])
    assert refused.value.field == "pieces"


@pytest.mark.parametrize(
    ("minutes", "after", "field"),
    [((1.5,), (), "minutes"), ((1,), (0, 0), "after"), ((1,), (2,), "after"), ((1.0,) * 201, (), "minutes")],
)
def test_numbered_pieces_are_whole_and_few_and_follow_pieces_that_are_there(minutes, after, field):
    with pytest.raises(MalformedQuestion) as refused:
        visit_time(minutes, after)
    assert refused.value.field == field


def test_a_roster_says_when_its_search_was_cut_short(monkeypatch):
    work = [Piece(name=str(i), minutes=5) for i in range(3)]
    assert labour_time(work).is_least
    monkeypatch.setattr("rules.labour_time.WORK_LIMIT", 0)
    found = labour_time(work)
    assert (found.elapsed_two, found.is_least) == (10, False)
