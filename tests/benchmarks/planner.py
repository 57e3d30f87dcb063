"""How long the planner takes for a path, beside the full CP-SAT model of the same question in the same run.

    python -m tests.benchmarks.planner [--small 30] [--medium 16] [--large 5] [--seed 1] [--api]

Prints JSON. A ratio is the planner's whole call, its checker included, over building and solving the full model with one worker;
both are CPU seconds, taken in turns. Catalogs and engines are made before the clock starts; every call meets a fresh engine.
Where the full model has no proof in its time, its time so far counts, which makes the ratio larger than it is. Where the planner
has no answer in its time, that counts too, and is told. `--api` asks the demo catalog's path cases through the API instead.
"""

from __future__ import annotations

import argparse
import gc
import json
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from statistics import median, quantiles
from time import process_time
from typing import Any, NamedTuple

from rules.answer import NoPlan, Plan
from rules.engine import Engine
from rules.question import FitQuestion, PathQuestion
from tests.benchmarks.api_paths import api_seconds
from tests.benchmarks.crowded import crowded
from tests.oracle import paths_cpsat
from tests.oracle.planner import ENGINE_SECONDS, SECONDS, at_most, seed_of
from tests.oracle.realistic import SIZES, Instance, Size, realistic

ROUNDS: dict[Size, int] = {"small": 3, "medium": 2, "large": 1}
"""Of several rounds the quickest counts."""
LONG = 10.0
"""CPU seconds after which no further round is begun."""
TOO_DEEP = "front-huge"
"""A speaker in every catalog of these questions that fits no bike."""
FEW_PARTS, MANY_PARTS = 2_000, 20_000
SAMPLE, GROWN = 6, 5
"""Of how many middle-sized questions the rest is measured, and how many of them over large catalogs."""
HALF = 2
"""A question is made impossible with a budget of the cheapest plan's spending over this."""


class Timed(NamedTuple):
    """One question: CPU seconds of the planner and of the full model. `spent` is None where there is no plan."""

    instance: Instance
    planner: float
    full: float
    full_timed_out: bool
    timed_out: bool
    spent: int | None

    @property
    def ratio(self) -> float:
        return self.planner / self.full


def clock(work: Callable[[], Any]) -> tuple[float, Any]:
    """Give the CPU seconds of some work, and what came of it; as `timeit` does, without collecting garbage meanwhile."""
    gc.collect()
    gc.disable()
    try:
        began = process_time()
        found = work()
        return process_time() - began, found
    finally:
        gc.enable()


def ask(instance: Instance, question: PathQuestion | None = None) -> tuple[float, Plan | NoPlan | None]:
    """Time a path on a fresh engine; None if it runs out of time."""
    engine = Engine(instance.catalog)

    def solve() -> Plan | NoPlan | None:
        try:
            with at_most(ENGINE_SECONDS):
                return engine.path(question or instance.question)
        except TimeoutError:
            return None

    return clock(solve)


def ask_full(instance: Instance) -> tuple[float, bool]:
    """Time the full model; tell whether it ran out of time."""

    def solve() -> bool:
        try:
            paths_cpsat.cheapest_path(instance.catalog, instance.question, SECONDS)
        except TimeoutError:
            return True
        return False

    return clock(solve)


# Against the full model ---------------------------------------------------------------------------


def timed(instance: Instance, rounds: int) -> Timed:
    """Time both in turns. What takes long is not asked again."""
    planner: list[float] = []
    full: list[tuple[float, bool]] = []
    answer: Plan | NoPlan | None = None
    while len(planner) < rounds and sum(planner) + sum(seconds for seconds, _ in full) < LONG:
        seconds, answer = ask(instance)
        planner.append(seconds)
        full.append(ask_full(instance))
    seconds, full_timed_out = min(full)
    spent = answer.spent if isinstance(answer, Plan) else None
    return Timed(instance, min(planner), seconds, full_timed_out, answer is None, spent)


def _p95(values: Sequence[float]) -> float:
    return quantiles(values, n=20, method="inclusive")[-1] if len(values) > 1 else values[0]


def _report(results: Sequence[Timed]) -> dict[str, Any]:
    """Tell of questions that have a path, or no answer in time; and beside them of those that turn out to have none."""
    without = [one for one in results if one.spent is None and not one.timed_out]
    told = _ratios([one for one in results if one not in without])
    return {**told, "without_path": _ratios(without)}


def _ratios(results: Sequence[Timed]) -> dict[str, Any]:
    if not results:
        return {"questions": 0}
    ratios, planner = [one.ratio for one in results], [one.planner for one in results]
    full = [one.full for one in results]
    return {
        "questions": len(results),
        "planner_timeouts": sum(one.timed_out for one in results),
        "full_model_timeouts": sum(one.full_timed_out for one in results),
        "median_ratio": round(median(ratios), 3),
        "p95_ratio": round(_p95(ratios), 3),
        "planner_s": {"median": round(median(planner), 3), "p95": round(_p95(planner), 3)},
        "full_model_s": {"median": round(median(full), 3), "p95": round(_p95(full), 3)},
    }


# Beside one solve ---------------------------------------------------------------------------------


def conflict_over_solve(results: Sequence[Timed]) -> float | None:
    """Compare the explanation of no path, on half of the money that the cheapest plan takes, with its solve."""
    ratios = []
    for one in results:
        question = one.instance.question
        stages = tuple(replace(stage, budget=None) for stage in question.stages)
        poor = replace(question, stages=stages, year_budgets={}, budget=(one.spent or 0) // HALF)
        seconds, answer = ask(one.instance, poor)
        if isinstance(answer, NoPlan):
            ratios.append(seconds / one.planner)
    return round(median(ratios), 2) if ratios else None


def front_over_solve(results: Sequence[Timed]) -> float | None:
    """Compare all alternatives of a question with its one cheapest path."""
    ratios = []
    for one in results:
        engine = Engine(one.instance.catalog)
        seconds, _ = clock(partial(engine.alternatives, one.instance.question))
        ratios.append(seconds / one.planner)
    return round(median(ratios), 2) if ratios else None


def growths(results: Sequence[Timed]) -> tuple[float | None, float | None]:
    """Compare the same questions over a catalog of 20,000 parts with one of 2,000: of a release in use, and just loaded.

    In use is a release that has said before whether some part fits the bike: what is looked up for all questions is there then.
    """
    warm, cold = [], []
    for one in results:
        many, few = crowded(one.instance, MANY_PARTS), crowded(one.instance, FEW_PARTS)
        warm.append(_in_use(many) / _in_use(few))
        cold.append(ask(many)[0] / ask(few)[0])
    if not warm:
        return None, None
    return round(median(warm), 2), round(median(cold), 2)


def _in_use(instance: Instance) -> float:
    engine, question = Engine(instance.catalog), instance.question
    engine.fit(FitQuestion(bike=question.bike, part=TOO_DEEP, on=question.stages[0].on))
    return clock(partial(engine.path, question))[0]


# The run ------------------------------------------------------------------------------------------


def run(counts: dict[Size, int], seed: int) -> dict[str, Any]:
    """Time a number of questions of each size."""
    told: dict[str, Any] = {}
    solved: dict[Size, list[Timed]] = {}
    for size in SIZES:
        solved[size] = [
            timed(realistic(size, seed_of(seed, number)), ROUNDS[size]) for number in range(counts[size])
        ]
        told[size] = _report(solved[size])
    some = [one for one in solved["medium"] or solved["small"] if one.spent is not None][:SAMPLE]
    warm, cold = growths(some[:GROWN])
    return {
        **told,
        "conflict_over_solve": conflict_over_solve(some),
        "front_over_solve": front_over_solve(some),
        "reduction_growth": warm,
        "first_question_growth": cold,
    }


def main() -> None:
    """Read the command line and measure."""
    parser = argparse.ArgumentParser(description=__doc__)
    for size, count in (("small", 30), ("medium", 16), ("large", 5)):
        parser.add_argument(f"--{size}", type=int, default=count)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--api", action="store_true")
    asked = parser.parse_args()
    if asked.api:
        taken = api_seconds()
        print(json.dumps({"api_questions": len(taken), "api_p95_ms": round(1000 * _p95(taken), 1)}))
        return
    counts: dict[Size, int] = {"small": asked.small, "medium": asked.medium, "large": asked.large}
    print(json.dumps(run(counts, asked.seed), indent=1))


if __name__ == "__main__":
    main()
