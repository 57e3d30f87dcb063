"""What a catalog costs: loading, starting warm, memory, and the impact of a release; each beside a reference in the same run.

    python -m tests.benchmarks.catalog [--only load,warm,memory,impact_demo,impact_large]

Prints JSON. Ratios hold on any machine; seconds are this machine's. The collector is off while times are taken, and of
several runs the quickest counts, since others only measure what else the machine does.
"""

from __future__ import annotations

import argparse
import gc
import json
import multiprocessing
import os
import platform
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from multiprocessing.connection import Connection
from pathlib import Path
from typing import TypeVar

import yaml

from rules.answer import FitAnswer
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.impact import groups, impact
from rules.load import load_catalog
from rules.question import FitQuestion
from rules.stored import from_stored, to_stored
from rules.tables import Tables
from service.settings import DEMO_CATALOG
from tests.benchmarks.catalogs import Size, draw_catalog, write_catalog
from tests.impact.changes import demo_with_a_new_year, large_with_changes

T = TypeVar("T")
ON = date(2026, 11, 20)
ROUNDS = 5
FIVE_MEGABYTES = Size(parts=16_300, rules=1_600)
LARGE = Size()


def timed(work: Callable[[], T]) -> tuple[float, T]:
    """Give the quickest of some rounds [CPU seconds] and what came of it."""
    best, found = float("inf"), None
    for _ in range(ROUNDS):
        del found
        began = time.process_time()
        found = work()
        best = min(best, time.process_time() - began)
    assert found is not None
    return best, found


@contextmanager
def without_collector() -> Iterator[None]:
    gc.collect()
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def compiled(directory: Path) -> Tables:
    return Tables(load_catalog(directory))


def measure_load(directory: Path) -> dict[str, object]:
    """Load, validate and compile, over the raw parse of the same bytes; and the start from the stored form.

    A start ends when any question can be answered: what was read back is compiled too. What a first answer on a bike costs
    besides is told beside it.
    """
    contents = [path.read_bytes() for path in sorted(directory.rglob("*.yaml"))]
    with without_collector():
        parse, _ = timed(lambda: [yaml.load(one, Loader=yaml.CSafeLoader) for one in contents])
        load, tables = timed(lambda: compiled(directory))
        stored = to_stored(tables.catalog)
        read_back, _ = timed(lambda: from_stored(stored))
        warm, _ = timed(lambda: Engine(from_stored(stored)))
        answered, _ = timed(lambda: first_answer(from_stored(stored)))
    return {
        "load_over_parse": round(load / parse, 3),
        "warm_start_over_parse": round(warm / parse, 3),
        "load": {
            "yaml_bytes": sum(map(len, contents)),
            "stored_bytes": len(stored),
            "parse_seconds": round(parse, 3),
            "load_seconds": round(load, 3),
            "warm_start_seconds": round(warm, 3),
            "of_it_reading_back_seconds": round(read_back, 3),
            "to_a_first_answer_seconds": round(answered, 3),
        },
    }


def first_answer(catalog: Catalog) -> FitAnswer:
    part = next(x.id for x in catalog.parts.values() if x.kind == "grille")
    return Engine(catalog).fit(FitQuestion(bike=next(iter(catalog.bikes)), part=part, on=date(2026, 5, 1)))


def resident() -> int:
    """Give this process's resident memory [bytes]."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * os.sysconf("SC_PAGE_SIZE")


def _grow(directory: Path, path: str, pipe: Connection) -> None:
    """In a process of its own: load or read back, answer a question on some bikes, and tell by how much memory grew."""
    gc.collect()
    before = resident()
    catalog = from_stored(Path(path).read_bytes()) if path else load_catalog(directory)
    engine = Engine(catalog)
    part = next(x.id for x in catalog.parts.values() if x.kind == "grille")
    for bike in list(catalog.bikes)[::20]:
        engine.fit(FitQuestion(bike=bike, part=part, on=date(2026, 5, 1)))
    gc.collect()
    pipe.send(resident() - before)


def measure_memory(directory: Path) -> dict[str, object]:
    """How much the serving process grows by a catalog, over the size of its files; started from the stored form, as it serves."""
    size = sum(path.stat().st_size for path in directory.rglob("*.yaml"))
    stored = directory.parent / "stored"
    stored.write_bytes(to_stored(load_catalog(directory)))
    grown = {}
    for name, path in (("cold", ""), ("warm", str(stored))):
        ours, theirs = multiprocessing.Pipe()
        process = multiprocessing.get_context("spawn").Process(target=_grow, args=(directory, path, theirs))
        process.start()
        # If the process ends before it has told anything, there is an end to wait for.
        theirs.close()
        grown[name] = ours.recv()
        process.join()
    return {
        "resident_over_yaml": round(grown["warm"] / size, 2),
        "memory": {
            "yaml_bytes": size,
            "grown_warm_bytes": grown["warm"],
            "grown_cold_bytes": grown["cold"],
            "resident_over_yaml_cold": round(grown["cold"] / size, 2),
        },
    }


def measure_impact(name: str, old: Catalog, new: Catalog, on: date) -> dict[str, object]:
    began, cpu = time.perf_counter(), time.process_time()
    found = impact(old, new, on)
    return {
        f"impact_seconds_{name}": round(time.perf_counter() - began, 1),
        f"impact_{name}": {
            "cpu_seconds": round(time.process_time() - cpu, 1),
            "bikes": len(old.bikes),
            "parts": len(old.parts),
            "space": found.size,
            "asked": found.asked,
            "changed": len(found.changed),
            "groups": len(groups(found)),
        },
    }


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--only", default="load,memory,impact_demo,impact_large")
    chosen = set(parser.parse_args().only.split(","))
    told: dict[str, object] = {}
    with tempfile.TemporaryDirectory() as temporary:
        directory = Path(temporary) / "catalog"
        if chosen & {"load", "memory"}:
            write_catalog(directory, draw_catalog(FIVE_MEGABYTES))
        if "load" in chosen:
            told |= measure_load(directory)
        if "memory" in chosen:
            told |= measure_memory(directory)
    if "impact_demo" in chosen:
        with tempfile.TemporaryDirectory() as temporary:
            new = demo_with_a_new_year(Path(temporary) / "catalog_demo")
            told |= measure_impact("demo", load_catalog(DEMO_CATALOG), load_catalog(new), ON)
    if "impact_large" in chosen:
        with tempfile.TemporaryDirectory() as temporary:
            texts = draw_catalog(LARGE)
            one, other = Path(temporary) / "old", Path(temporary) / "new"
            write_catalog(one, texts)
            write_catalog(other, large_with_changes(texts))
            told |= measure_impact("large", load_catalog(one), load_catalog(other), date(2026, 5, 1))
    told["machine"] = {"python": platform.python_version(), "cores": os.cpu_count()}
    print(json.dumps(told, indent=2))


if __name__ == "__main__":
    main()
