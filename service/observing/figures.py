"""Figures of one process for Prometheus, counted as plainly as can be and put into words when they are asked for."""

from __future__ import annotations

import time
from bisect import bisect_left
from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from prometheus_client import CollectorRegistry, generate_latest
from prometheus_client.core import (
    CounterMetricFamily,
    GaugeMetricFamily,
    HistogramMetricFamily,
    Metric,
)
from prometheus_client.registry import Collector

from rules.effort import Effort
from service.observing.board import Board
from service.serving import Serving

BOUNDS_S = (0.000_5, 0.001, 0.002_5, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0)
"""Upper bounds of the classes that request times are counted in [s]."""


@dataclass(slots=True)
class Figures:
    """What one process has counted since it was started. Counting is one step of a dictionary, since each answer pays for it.

    Attributes:
        requests: By method, route and status.
        seconds: Time of requests by route, summed [s].
        refused: Requests that a limit refused, by the limit.
        dropped: Answers that the decision log had no room for.
        under_way: Questions that are being worked out now.
    """

    requests: Counter[tuple[str, str, int]] = field(default_factory=Counter)
    seconds: Counter[str] = field(default_factory=Counter)
    classes: Counter[tuple[str, int]] = field(default_factory=Counter)
    refused: Counter[str] = field(default_factory=Counter)
    dropped: int = 0
    under_way: int = 0

    def count(self, method: str, route: str, status: int, took_s: float) -> None:
        """Count one request."""
        self.requests[method, route, status] += 1
        self.seconds[route] += took_s  # type: ignore[assignment]  # a sum of seconds
        self.classes[route, bisect_left(BOUNDS_S, took_s)] += 1


class Told(Collector):
    """Tells the figures in the words of Prometheus."""

    def __init__(self, figures: Figures, serving: Callable[[], Serving]) -> None:
        self.figures = figures
        self.serving = serving

    def collect(self) -> Iterator[Metric]:
        """Tell everything."""
        yield from self._requests()
        yield from self._limits()
        yield from self._release()

    def _requests(self) -> Iterator[Metric]:
        counted = CounterMetricFamily(
            "loomway_requests", "Requests answered.", labels=("method", "route", "status")
        )
        for (method, route, status), count in sorted(self.figures.requests.items()):
            counted.add_metric((method, route, str(status)), count)
        yield counted
        took = HistogramMetricFamily("loomway_request_seconds", "Time of requests [s].", labels=("route",))
        for route, total in sorted(self.figures.seconds.items()):
            took.add_metric((route,), self._buckets(route), total)
        yield took

    def _buckets(self, route: str) -> list[tuple[str, float]]:
        found: list[tuple[str, float]] = []
        so_far = 0
        for at, bound in enumerate((*BOUNDS_S, float("inf"))):
            so_far += self.figures.classes[route, at]
            found.append(("+Inf" if bound == float("inf") else repr(bound), so_far))
        return found

    def _limits(self) -> Iterator[Metric]:
        refused = CounterMetricFamily("loomway_limited", "Requests that a limit refused.", labels=("limit",))
        for limit, count in sorted(self.figures.refused.items()):
            refused.add_metric((limit,), count)
        yield refused
        yield GaugeMetricFamily(
            "loomway_under_way", "Questions that are being worked out.", value=self.figures.under_way
        )
        yield CounterMetricFamily(
            "loomway_decisions_dropped", "Answers that the decision log lost.", value=self.figures.dropped
        )

    def _release(self) -> Iterator[Metric]:
        serving = self.serving()
        named = GaugeMetricFamily("loomway_release_number", "What is served.", labels=("release",))
        named.add_metric((serving.name,), serving.number)
        yield named
        age = time.monotonic() - serving.since
        yield GaugeMetricFamily("loomway_release_age_seconds", "Served here for [s].", value=age)
        table = serving.table
        yield GaugeMetricFamily("loomway_recipes", "Pairs worked out and kept.", value=len(table))
        yield CounterMetricFamily("loomway_judged", "Pairs that the engine judged.", value=table.judged)
        yield CounterMetricFamily(
            "loomway_judging_seconds", "Time of the engine for pairs [s].", value=table.judging_s
        )
        yield from _effort(serving.engine.tables.effort)
        hits = CounterMetricFamily(
            "loomway_rule_hits", "Answers of fit checks that named a rule.", labels=("rule",)
        )
        for rule, count in sorted(table.rule_hits().items()):
            hits.add_metric((rule,), count)
        yield hits


def _effort(effort: Effort) -> Iterator[Metric]:
    asked = CounterMetricFamily(
        "loomway_engine_questions", "Questions that the engine answered.", labels=("question",)
    )
    for question, count in sorted(effort.asked.items()):
        asked.add_metric((question,), count)
    yield asked
    spent = CounterMetricFamily(
        "loomway_search_work", "Counted work of these questions.", labels=("question", "work")
    )
    for (question, work), amount in sorted(effort.spent.items()):
        spent.add_metric((question, work), amount)
    yield spent


class AllTold(Collector):
    """Tells the figures of every worker of one command, each with its number."""

    def __init__(self, board: Board) -> None:
        self.board = board

    def collect(self) -> Iterator[Metric]:
        """Tell everything."""
        yield from self.board.all()


def page(told: Collector) -> bytes:
    """Give the page that Prometheus reads."""
    registry = CollectorRegistry(auto_describe=False)
    registry.register(told)
    return generate_latest(registry)
