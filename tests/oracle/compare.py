"""Compares the engine with the reference solvers on seeded random questions.

`python -m tests.oracle.compare --instances 500` prints `{"verdicts": [agree, n], "paths": [agree, n]}`;
the reference solvers must agree with each other as well.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections import Counter
from collections.abc import Sequence
from multiprocessing import get_context
from typing import Any, NamedTuple

from rules.answer import FitAnswer, NoPlan, Plan
from rules.engine import Engine
from rules.question import FitQuestion, PathQuestion
from rules.verdict import Verdict
from tests.oracle import paths_brute, paths_cpsat, show, verdicts, verdicts_brute
from tests.oracle.generate import PathInstance, VerdictInstance, path_instance, verdict_instance


class Compared(NamedTuple):
    """One instance: whether all agree, the answer in a word, what each said, and what is remarkable about it."""

    number: int
    agree: bool
    word: str
    said: dict[str, object]
    notes: tuple[str, ...] = ()


def _notes(*, pays_replugs: bool, is_split: bool) -> tuple[str, ...]:
    notes = {"pays re-plug labour": pays_replugs, "present wirings differ": is_split}
    return tuple(note for note, holds in notes.items() if holds)


# Verdicts -----------------------------------------------------------------------------------------


class Fit(NamedTuple):
    """What is compared of a verdict: all but itself only where the oracle can name them."""

    verdict: str
    place: str | None = None
    cost: int | None = None
    pieces: int | None = None
    rewires: bool | None = None


def declared(catalog, question: FitQuestion) -> Fit:
    """Ask the declarative model."""
    return _as_fit(question, verdicts.judge(catalog, question))


def _as_fit(question: FitQuestion, judged: verdicts.Judged | verdicts_brute.Judged) -> Fit:
    if judged.cost is None:
        return Fit(str(judged.verdict))
    pieces = judged.pieces if judged.verdict == Verdict.FITS_WITH else 0
    return Fit(str(judged.verdict), judged.place, judged.cost, pieces, judged.rewires)


def _engine_fit(answer: FitAnswer, oracle: Fit) -> Fit:
    """Take from the engine's answer what the oracle could tell as well."""
    if oracle.cost is None:
        return Fit(str(answer.verdict))
    pieces = len(answer.extras) + len(answer.presets)
    return Fit(str(answer.verdict), answer.place, answer.total, pieces, answer.rewires)


def compare_verdict(number: int, instance: VerdictInstance, *, engine: bool) -> Compared:
    """Compare one verdict."""
    catalog, question = instance.catalog, instance.question
    oracle, tried = declared(catalog, question), verdicts_brute.judge(catalog, question)
    said: dict[str, object] = {"declared": oracle, "enumerated": _as_fit(question, tried)}
    if engine:
        said["engine"] = _attempt(lambda: _engine_fit(Engine(catalog).fit(question), oracle))
    notes = _notes(pays_replugs=tried.pays_replugs, is_split=tried.is_split)
    return Compared(number, len(set(said.values())) == 1, oracle.verdict, said, notes)


# Paths --------------------------------------------------------------------------------------------


def _engine_path(catalog, question: PathQuestion) -> tuple[int, int, int] | str | None:
    answer = Engine(catalog).path(question)
    match answer:
        case NoPlan():
            return None
        case Plan() if not answer.proof.is_proven:
            return f"not proven: {answer.total}"
        case Plan():
            return answer.total, sum(not visit.is_empty for visit in answer.visits), answer.waste
    raise AssertionError(answer)


def compare_path(number: int, instance: PathInstance, *, engine: bool) -> Compared:
    """Compare one path: total cost, number of visits, waste; or that there is none."""
    catalog, question = instance.catalog, instance.question
    told, solved = paths_brute.tell(catalog, question), paths_cpsat.cheapest_path(catalog, question)
    said: dict[str, object] = {
        "enumerated": told.outcome and tuple(told.outcome),
        "constraints": solved and tuple(solved),
    }
    if engine:
        said["engine"] = _attempt(lambda: _engine_path(catalog, question))
    word = _path_word(said["enumerated"])
    notes = _notes(pays_replugs=told.pays_replugs, is_split=told.is_split)
    return Compared(number, len(set(said.values())) == 1, word, said, notes)


def _path_word(found) -> str:
    return "no path" if found is None else f"{found[1]} visits{', waste' if found[2] else ''}"


def _attempt(ask):
    try:
        return ask()
    except Exception as error:  # noqa: BLE001 - a crash of the engine is an answer that disagrees, and the run goes on.
        return f"{type(error).__name__}: {error}"


# The run ------------------------------------------------------------------------------------------


def _one(task: tuple[str, int, int, bool]) -> Compared:
    kind, seed, number, engine = task
    if kind == "verdicts":
        return compare_verdict(number, verdict_instance(_seed(seed, number)), engine=engine)
    return compare_path(number, path_instance(_seed(seed, number)), engine=engine)


def _seed(seed: int, number: int) -> int:
    return seed * 1_000_000 + number


def run(kind: str, seed: int, instances: int, *, engine: bool, jobs: int) -> list[Compared]:
    """Compare a number of instances, in order."""
    tasks = [(kind, seed, number, engine) for number in range(instances)]
    if jobs == 1:
        return [_one(task) for task in tasks]
    with get_context("spawn").Pool(jobs) as pool:
        return pool.map(_one, tasks, chunksize=10)


def _print_stats(kind: str, results: Sequence[Compared]) -> None:
    for counted in (
        Counter(result.word for result in results),
        Counter(note for result in results for note in result.notes),
    ):
        print(f"{kind}: " + ", ".join(f"{word} {count}" for word, count in counted.most_common()))


def _show(kind: str, seed: int, number: int, *, engine: bool) -> None:
    draw = verdict_instance if kind == "verdicts" else path_instance
    instance: Any = draw(_seed(seed, number))
    print(f"==== {kind} {number} of seed {seed}")
    show.catalog(instance.catalog)
    show.question(instance.catalog, instance.question)
    result = _one((kind, seed, number, engine))
    for name, answer in result.said.items():
        print(f"{name}: {answer}")
    if engine:
        asked: Any = Engine(instance.catalog)
        ask = asked.fit if kind == "verdicts" else asked.path
        print("engine in full:", _attempt(lambda: ask(instance.question)))


def main() -> None:
    """Read the command line and compare."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--instances", type=int, default=500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--only", choices=["verdicts", "paths"], help="leave the other half out")
    parser.add_argument("--show", type=int, metavar="K", help="print instance K in full")
    parser.add_argument(
        "--stats", action="store_true", help="say how often each answer came up, and what disagreed"
    )
    parser.add_argument("--oracles-only", action="store_true", help="leave the engine out")
    asked = parser.parse_args()
    kinds, engine = [asked.only] if asked.only else ["verdicts", "paths"], not asked.oracles_only
    if asked.show is not None:
        for kind in kinds:
            _show(kind, asked.seed, asked.show, engine=engine)
        return
    report = {}
    for kind in kinds:
        results = run(kind, asked.seed, asked.instances, engine=engine, jobs=asked.jobs)
        report[kind] = [sum(result.agree for result in results), len(results)]
        if asked.stats:
            _print_stats(kind, results)
            for result in results:
                if not result.agree:
                    print(f"{kind} {result.number}: {result.said}")
    print(json.dumps(report))
    if any(agreed != asked_of for agreed, asked_of in report.values()):
        sys.exit(1)


if __name__ == "__main__":
    main()
