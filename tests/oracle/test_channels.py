"""The engine's channel allocation against an independent model, and that the comparison can fail."""

from __future__ import annotations

from dataclasses import replace

import pytest

from rules.allocation import Allocation, allocate
from tests.oracle import channels


def test_engine_and_model_agree_on_drawn_questions() -> None:
    disagreeing = [seed for seed in range(7_000_000, 7_000_080) if not channels.agrees(channels.draw(seed))]
    assert disagreeing == []


def test_drawn_questions_have_every_sort_of_answer() -> None:
    kinds = {channels.kind(channels.draw(seed)) for seed in range(7_000_000, 7_000_300)}
    assert {"none shares", "none shares, capped", "some share", "some share, capped"} <= kinds
    for limit in ("kept", "bridge", "alike", "lowest_impedance", "speaker_power", "too few channels"):
        assert any(limit in kind for kind in kinds), limit


def _refuted(answer: Allocation) -> Allocation:
    first, *rest = answer.feeds
    return replace(answer, feeds=(replace(first, output=rest[0].output), *rest))


def test_model_refuses_an_allocation_with_both_sides_on_one_channel() -> None:
    question = next(
        drawn
        for drawn in map(channels.draw, range(7_000_000, 7_000_300))
        if channels.kind(drawn) == "none shares" and drawn.zones[0].pair
    )
    answer = allocate(question.sources, question.zones, question.kept)
    assert isinstance(answer, Allocation)
    assert channels.is_legal(question, answer)
    assert not channels.is_legal(question, _refuted(answer))


@pytest.mark.parametrize("lifted", ["kept", "bridge", "alike", "lowest_impedance", "speaker_power"])
def test_lifting_a_limit_never_makes_a_possible_question_impossible(lifted: str) -> None:
    for seed in range(7_000_000, 7_000_020):
        question = channels.draw(seed)
        if channels.Model(question).is_possible():
            assert channels.Model(question, lifted).is_possible()
