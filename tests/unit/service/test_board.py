"""Workers of one command tell of each other."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from prometheus_client.core import CounterMetricFamily, Metric

from service.observing.board import Board
from service.observing.figures import AllTold, page


def counting(number: int) -> list[Metric]:
    return [CounterMetricFamily("loomway_asked", "Asked.", value=number)]


@pytest.fixture
def boards(tmp_path: Path) -> Iterator[list[Board]]:
    """Two workers of one command."""
    found = [Board(tmp_path, lambda: counting(3)), Board(tmp_path, lambda: counting(4))]
    for board in found:
        board.start()
    yield found
    for board in found:
        board.stop()


def test_whoever_is_asked_tells_of_all_workers_and_marks_whose_figure_it_is(boards: list[Board]) -> None:
    for board in boards:
        told = page(AllTold(board)).decode().splitlines()
        assert [line for line in told if "worker" in line] == [
            'loomway_asked_total{worker="1"} 3.0',
            'loomway_asked_total{worker="2"} 4.0',
        ]


def test_a_worker_that_is_gone_is_not_told_of_and_its_number_is_taken_over(boards: list[Board]) -> None:
    one, other = boards
    other.stop()
    assert [sample.labels for metric in one.all() for sample in metric.samples] == [{"worker": "1"}]
    third = Board(one.directory, lambda: counting(0))
    third.start()
    assert third.number == 2
    third.stop()
