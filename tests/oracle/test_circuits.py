"""ngspice agrees with the calculations; and a circuit that was drawn with a fault is found."""

from __future__ import annotations

import os
from random import Random

import pytest

from tests.oracle.circuit import Circuit
from tests.oracle.circuits import CLOSE, GENERATORS, compare, error, is_installed

pytestmark = pytest.mark.skipif(
    not is_installed() and os.environ.get("CI") != "true",
    reason="ngspice is not installed, so no circuit was compared with it",
)


@pytest.mark.parametrize("generator", GENERATORS, ids=lambda generator: generator.__name__)
def test_ngspice_agrees_with_each_kind_of_circuit(generator):
    rng = Random(7)
    assert max(error(generator(rng)) for _ in range(4)) < CLOSE


def test_the_same_seed_draws_the_same_circuits():
    assert compare(len(GENERATORS), 5) == compare(len(GENERATORS), 5)


def test_a_wrong_value_is_found():
    drawn = GENERATORS[0](Random(7))
    wrong = {expression: value * 1.01 for expression, value in drawn.expected.items()}
    assert error(Circuit(drawn.elements, drawn.analysis, wrong)) > CLOSE
