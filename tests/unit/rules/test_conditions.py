"""Conditions in three values."""

from __future__ import annotations

import itertools

import pytest
from pydantic import TypeAdapter

from rules.catalog.condition import Condition
from rules.catalog.facts import Unknown, Value
from rules.conditions import Consulted, Truth, all_of, any_of, evaluate, facts_named, leaves, negate

ADAPTER: TypeAdapter[Condition] = TypeAdapter(Condition)
LOOK = Unknown(unknown="look at the plate")
FACTS: dict[str, Value | Unknown] = {
    "bike.year": 2019.0,
    "bike.trim": "fair",
    "bike.has_tray": True,
    "bike.paints": ("black", "blue"),
    "bike.pod_series": LOOK,
}
TRUE = {"fact": "bike.trim", "is": "fair"}
FALSE = {"fact": "bike.trim", "is": "plain"}
OPEN = {"fact": "bike.pod_series", "is": "a"}
KLEENE = (True, False, None)


def look_up(name: str) -> Value | Unknown | None:
    return FACTS.get(name)


def decide(raw: object, fitted: bool | None = None) -> Truth:
    return evaluate(ADAPTER.validate_python(raw), look_up, lambda _: fitted)


@pytest.mark.parametrize(
    ("raw", "expected"),
    [
        (TRUE, True),
        (FALSE, False),
        (OPEN, None),
        ({"fact": "bike.not_recorded", "is": 1.0}, None),
        ({"fact": "bike.year", "is": 2019}, True),
        ({"fact": "bike.year", "in": [2018, 2020]}, False),
        ({"fact": "bike.year", "at_least": 2019}, True),
        ({"fact": "bike.year", "at_least": 2020}, False),
        ({"fact": "bike.year", "at_most": 2019}, True),
        ({"fact": "bike.paints", "has": "blue"}, True),
        ({"fact": "bike.paints", "has": "red"}, False),
        ({"fact": "bike.has_tray", "is": True}, True),
    ],
)
def test_a_comparison_is_true_false_or_unknown(raw, expected):
    assert decide(raw).holds is expected


@pytest.mark.parametrize(
    "raw",
    [
        {"fact": "bike.trim", "is": 2019},
        {"fact": "bike.has_tray", "is": 1.0},
        {"fact": "bike.trim", "at_least": 3},
        {"fact": "bike.has_tray", "at_most": 3},
        {"fact": "bike.trim", "has": "fair"},
        {"fact": "bike.year", "in": ["2019", True]},
    ],
)
def test_values_of_different_types_compare_as_false_and_never_as_unknown(raw):
    assert decide(raw).holds is False


@pytest.mark.parametrize(("one", "other"), list(itertools.product(KLEENE, KLEENE)))
def test_all_and_any_are_kleene_conjunction_and_disjunction(one, other):
    rank = {False: 0, None: 1, True: 2}
    assert rank[all_of([one, other])] == min(rank[one], rank[other])
    assert rank[any_of([one, other])] == max(rank[one], rank[other])
    assert negate(all_of([one, other])) is any_of([negate(one), negate(other)])


def test_a_missing_fact_is_named_where_it_leaves_the_answer_open():
    truth = decide({"all": [TRUE, OPEN]})
    assert truth.holds is None
    assert truth.missing == truth.facts == (Consulted(name="bike.pod_series", value=LOOK),)


def test_one_false_member_decides_and_is_the_only_one_named():
    truth = decide({"all": [TRUE, OPEN, FALSE, {"fact": "bike.year", "is": 1}]})
    assert truth.holds is False
    assert [fact.name for fact in truth.facts] == ["bike.trim"]


def test_all_members_together_make_all_true():
    truth = decide({"all": [TRUE, {"fact": "bike.year", "is": 2019}]})
    assert [fact.name for fact in truth.facts] == ["bike.trim", "bike.year"]


def test_one_true_member_is_enough_for_any():
    truth = decide({"any": [FALSE, OPEN, {"fact": "bike.year", "is": 2019}, TRUE]})
    assert truth.holds is True
    assert [fact.name for fact in truth.facts] == ["bike.year"]


def test_the_reverse_of_unknown_stays_unknown():
    assert decide({"not": OPEN}).holds is None
    assert decide({"not": {"any": [OPEN, TRUE]}}).holds is False


@pytest.mark.parametrize("fitted", KLEENE)
def test_a_fitted_selector_is_asked_and_named(fitted):
    truth = decide({"fitted": {"tag": "pod"}, "same_place": True}, fitted)
    assert truth.holds is fitted
    assert truth.selectors[0].fitted.tag == "pod"
    assert truth.selectors[0].same_place


def test_facts_and_leaves_are_listed_in_the_order_of_writing():
    condition = ADAPTER.validate_python(
        {"all": [OPEN, {"not": {"any": [TRUE, OPEN]}}, {"fitted": {"tag": "x"}}]}
    )
    assert facts_named(condition) == ("bike.pod_series", "bike.trim")
    assert len(leaves(condition)) == 4
