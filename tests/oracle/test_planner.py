"""The planner against full models, on a small share of the realistic questions."""

import pytest

from tests.oracle.planner import REFERENCES, compare
from tests.oracle.realistic import EXTENTS, SIZES, candidates, realistic


@pytest.mark.parametrize("size", SIZES)
def test_questions_are_of_their_size(size):
    for seed in range(4):
        extent, instance = EXTENTS[size], realistic(size, seed)
        assert len(instance.question.stages) == extent.stages
        assert 0.6 * extent.candidates <= len(candidates(instance)) <= 1.5 * extent.candidates


@pytest.mark.parametrize("size", SIZES)
def test_the_same_seed_draws_the_same_question(size):
    assert realistic(size, 5) == realistic(size, 5)


@pytest.mark.parametrize("number", range(12))
def test_the_planner_agrees_with_the_full_models_on_small_questions(number):
    compared = compare("small", number, 1, sorted(REFERENCES))
    assert compared.agree, compared.said
    assert compared.is_compared
