"""No clause goes without a plan that breaks it."""

from __future__ import annotations

import pytest

from rules.checker import Clause
from tests.unit.rules_checker.spoil import QUESTION, checked, good, the_shop
from tests.unit.rules_checker.test_spoiled_builds import BUILDS
from tests.unit.rules_checker.test_spoiled_money import MONEY
from tests.unit.rules_checker.test_spoiled_paths import PATHS
from tests.unit.rules_checker.test_spoiled_steps import STEPS
from tests.unit.rules_checker.test_spoiled_wiring import WIRING

SECTIONS = {1: WIRING, 2: BUILDS, 3: STEPS, 5: MONEY, 6: PATHS}


@pytest.mark.parametrize("clause", Clause, ids=lambda clause: clause.value)
def test_each_clause_has_a_plan_that_breaks_it(clause: Clause) -> None:
    assert any(spoiled.clause is clause for spoiled in SECTIONS[clause.section])


def test_the_plan_that_is_spoiled_is_right() -> None:
    assert not checked(the_shop(), QUESTION, good())


def test_a_fault_reads_as_a_sentence_that_names_visit_clause_and_thing() -> None:
    spoiled = SECTIONS[1][0]
    (fault,) = checked(spoiled.catalog(), spoiled.question, spoiled.plan())
    assert str(fault) == "visit 1: 1 placement: fulmar@pods"
