"""Compares the planner with full models on realistic questions at three sizes.

`python -m tests.oracle.planner --small 300 --medium 60 --large 12 --seed 1` prints how many agree, of each size, with every
reference that finished with a proof in its time, which references ran out of time, and how often each feature of the questions
bites: without it, the cheapest path would be another one.
"""

from __future__ import annotations

import argparse
import json
import signal
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from multiprocessing import get_context
from time import perf_counter
from typing import Any, NamedTuple

from rules.answer import NoPlan
from rules.engine import Engine
from tests.oracle import paths_cpsat, paths_milp, show
from tests.oracle.bites import FEATURES, bites
from tests.oracle.realistic import SIZES, Instance, Size, realistic

SECONDS = 60.0
"""What a reference has for one question."""
ENGINE_SECONDS = 120
"""CPU time that the engine has before the run goes on without it. Its own limits are counted work, and should end it before."""

Told = tuple[int, int, int] | str | None
"""Cost, visits and waste; None where there is no path; a word where there is no proven answer."""


def _by_constraints(instance: Instance, seconds: float) -> Told:
    found = paths_cpsat.cheapest_path(instance.catalog, instance.question, seconds)
    return found and (found.total, found.visits, found.waste)


def _by_flows(instance: Instance, seconds: float) -> Told:
    found = paths_milp.cheapest_path(instance.catalog, instance.question, seconds)
    return found and (found.total, found.visits, found.waste)


REFERENCES: dict[str, Callable[[Instance, float], Told]] = {"cpsat": _by_constraints, "milp": _by_flows}


class Compared(NamedTuple):
    """One question: what each said that finished with a proof, who did not, and how long each took [s]."""

    size: Size
    number: int
    said: dict[str, Told]
    timeouts: tuple[str, ...]
    seconds: dict[str, float]

    @property
    def agree(self) -> bool:
        return len(set(self.said.values())) == 1

    @property
    def is_compared(self) -> bool:
        return len(self.said) > 1


def ask_engine(instance: Instance) -> Told:
    """Ask a fresh engine. A crash is an answer that disagrees, and the run goes on."""
    engine = Engine(instance.catalog)
    try:
        with at_most(ENGINE_SECONDS):
            answer = engine.path(instance.question)
    except Exception as error:  # noqa: BLE001 - see above
        return f"{type(error).__name__}: {error}"
    if isinstance(answer, NoPlan):
        return None
    if not answer.proof.is_proven:
        return f"not proven: {answer.total}"
    return answer.total, sum(not visit.is_empty for visit in answer.visits), answer.waste


@contextmanager
def at_most(seconds: float) -> Iterator[None]:
    """End what is done here once it has taken so much CPU time.

    Raises: TimeoutError, then.
    """

    def give_up(*_: object) -> None:
        message = f"no answer in {seconds:g} s"
        raise TimeoutError(message)

    signal.signal(signal.SIGPROF, give_up)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)


def compare(
    size: Size, number: int, seed: int, references: Sequence[str], limit: float = SECONDS
) -> Compared:
    """Compare one question; each reference has so many seconds."""
    instance = realistic(size, seed_of(seed, number))
    began = perf_counter()
    said: dict[str, Told] = {"engine": ask_engine(instance)}
    seconds, timeouts = {"engine": perf_counter() - began}, []
    for name in references:
        began = perf_counter()
        try:
            said[name] = REFERENCES[name](instance, limit)
        except TimeoutError:
            timeouts.append(name)
        seconds[name] = perf_counter() - began
    return Compared(size, number, said, tuple(timeouts), seconds)


def seed_of(seed: int, number: int) -> int:
    """Give the seed of one question of a run."""
    return seed * 1_000_000 + number


def _one(task: tuple[Size, int, int, tuple[str, ...], float]) -> Compared:
    return compare(*task)


def run(
    counts: dict[Size, int],
    seed: int,
    references: Sequence[str],
    *,
    first: int = 0,
    limit: float = SECONDS,
    jobs: int,
    verbose: bool = False,
) -> list[Compared]:
    """Compare a number of questions of each size, in order, beginning with one."""
    tasks = [
        (size, number, seed, tuple(references), limit)
        for size in SIZES
        for number in range(first, first + counts[size])
    ]
    if jobs == 1:
        return list(_told(map(_one, tasks), verbose=verbose))
    with get_context("spawn").Pool(jobs) as pool:
        return list(_told(pool.imap(_one, tasks), verbose=verbose))


def _told(results: Iterable[Compared], *, verbose: bool) -> Iterable[Compared]:
    for one in results:
        if verbose or not one.agree or not one.is_compared:
            times = {name: round(taken, 2) for name, taken in one.seconds.items()}
            print(f"{one.size} {one.number}: {one.said} {times}", file=sys.stderr, flush=True)
        yield one


def report(results: Sequence[Compared], references: Sequence[str]) -> dict[str, Any]:
    """Count what agrees; list what disagrees, and what nobody finished."""
    told: dict[str, Any] = {}
    for size in SIZES:
        mine = [one for one in results if one.size == size]
        told[size] = [sum(one.agree and one.is_compared for one in mine), len(mine)]
    unproven = [one for one in results if str(one.said["engine"]).startswith(("not proven", "TimeoutError"))]
    late = Counter(name for one in results for name in one.timeouts)
    return {
        **told,
        "unproven": len(unproven),
        "timeouts": {name: late[name] for name in references},
        "disagree": [f"{one.size} {one.number}" for one in results if not one.agree],
        "not_compared": [f"{one.size} {one.number}" for one in results if not one.is_compared],
        "no_path": sum(None in one.said.values() for one in results),
    }


# What bites ---------------------------------------------------------------------------------------


def count_bites(counts: dict[Size, int], seed: int, *, jobs: int) -> dict[str, list[int]]:
    """Count for every feature how often it bites, of how many questions."""
    tasks = [(size, seed_of(seed, number)) for size in SIZES for number in range(counts[size])]
    if jobs == 1:
        each = list(map(_bites_of, tasks))
    else:
        with get_context("spawn").Pool(jobs) as pool:
            each = pool.map(_bites_of, tasks, chunksize=1)
    return {
        feature: [sum(one.get(feature, False) for one in each), sum(feature in one for one in each)]
        for feature in FEATURES
    }


def _bites_of(task: tuple[Size, int]) -> dict[str, bool]:
    try:
        return bites(realistic(*task), SECONDS)
    except TimeoutError:
        return {}


# The run ------------------------------------------------------------------------------------------


def _show(size: Size, number: int, seed: int) -> None:
    instance = realistic(size, seed_of(seed, number))
    show.catalog(instance.catalog)
    show.question(instance.catalog, instance.question)
    print("spoilt:", instance.spoilt or "no")


def main() -> None:
    """Read the command line and compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--small", type=int, default=0)
    parser.add_argument("--medium", type=int, default=0)
    parser.add_argument("--large", type=int, default=0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--from", dest="first", type=int, default=0, help="number of the first question")
    parser.add_argument(
        "--seconds", type=float, default=SECONDS, help="what a reference has for one question"
    )
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument(
        "--bites",
        type=int,
        nargs=2,
        default=(60, 12),
        metavar=("SMALL", "MEDIUM"),
        help="of how many, at most, to count what bites",
    )
    parser.add_argument("--only", choices=sorted(REFERENCES), help="ask one reference only")
    parser.add_argument("--verbose", action="store_true", help="tell of every question on stderr")
    parser.add_argument("--show", nargs=2, metavar=("SIZE", "K"), help="print question K of a size in full")
    asked = parser.parse_args()
    if asked.show:
        _show(asked.show[0], int(asked.show[1]), asked.seed)
        return
    references = [asked.only] if asked.only else sorted(REFERENCES)
    counts: dict[Size, int] = {"small": asked.small, "medium": asked.medium, "large": asked.large}
    results = run(
        counts,
        asked.seed,
        references,
        first=asked.first,
        limit=asked.seconds,
        jobs=asked.jobs,
        verbose=asked.verbose,
    )
    told = report(results, references)
    small, medium = asked.bites
    some: dict[Size, int] = {
        "small": min(small, asked.small),
        "medium": min(medium, asked.medium),
        "large": 0,
    }
    told["bites"] = count_bites(some, asked.seed, jobs=asked.jobs)
    print(json.dumps(told))
    if told["disagree"] or told["not_compared"]:
        sys.exit(1)


if __name__ == "__main__":
    main()
