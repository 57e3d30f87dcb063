"""The worked example: a copy of the demo gains a model year that renames a plug and narrows a pod. Is the impact what asking finds?

    python -m tests.impact.worked_example [--others 300] [--every 1]

Every answer of the new bike is worked out anew, held against the year before; and many others of the space, drawn from a seed,
in both catalogs: none of them may differ. Prints JSON: `missing` are changes that the impact does not tell, `extra` those
that are none.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from random import Random

from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.impact import Impact, impact
from rules.impact.compare import Answers, Asker
from rules.impact.space import FITTERS, Asked
from rules.impact.told import Told, told_fit
from rules.load import load_catalog
from rules.question import FitQuestion
from service.settings import DEMO_CATALOG
from tests.impact.changes import demo_with_a_new_year

ON = date(2026, 11, 20)
NEW, BEFORE = "gadwall-2025-solo", "gadwall-2024-solo"

Key = tuple[str, str, str]
"""Bike, part, fitter."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What the impact told, and what asking found."""

    told: frozenset[Key]
    found: frozenset[Key]
    asked: int

    @property
    def missing(self) -> frozenset[Key]:
        return self.found - self.told

    @property
    def extra(self) -> frozenset[Key]:
        return self.told - self.found


def catalogs(directory: Path) -> tuple[Catalog, Catalog]:
    """Give the demo, and its copy with the new model year."""
    return load_catalog(DEMO_CATALOG), load_catalog(demo_with_a_new_year(directory))


def compare(old: Catalog, new: Catalog, *, every: int, others: int) -> Compared:
    """Compare the impact with asking, for every so manieth part of the new bike, and a number of drawn questions elsewhere."""
    parts = frozenset(part_ids(new)[::every])
    seen = impact(old, new, ON, ask_all=lambda whole, asker: _ask_some(whole, asker, parts))
    here = {(NEW, part, fitter): BEFORE for part in parts for fitter in FITTERS}
    elsewhere = {key: key[0] for key in _drawn(old, others)}
    engines = Engine(old), Engine(new)
    found = {
        key
        for key, before in (here | elsewhere).items()
        if answer(engines[0], (before, *key[1:])) != answer(engines[1], key)
    }
    return Compared(told=told(seen), found=frozenset(found), asked=len(here) + len(elsewhere))


def told(seen: Impact) -> frozenset[Key]:
    """Give the fit questions of which an impact tells that they change."""
    return frozenset(
        (x.asked.bike or x.asked.before, x.asked.name, str(x.asked.fitter))
        for x in seen.changed
        if x.asked.kind == "fit"
    )


def answer(engine: Engine, key: Key) -> Told:
    bike, part, fitter = key
    fitted_by = next(x for x in FITTERS if x == fitter)
    return told_fit(engine.fit(FitQuestion(bike=bike, part=part, on=ON, fitter=fitted_by)))


def part_ids(catalog: Catalog) -> list[str]:
    return sorted(part.id for part in catalog.parts.values() if part.slot is not None)


def _ask_some(
    whole: Mapping[str, tuple[Asked, ...]], asker: Asker, parts: frozenset[str]
) -> Iterator[tuple[Asked, Answers]]:
    for asked in whole.values():
        yield from asker.ask(one for one in asked if one.name in parts or one.bike != NEW)


def _drawn(old: Catalog, number: int) -> Iterator[Key]:
    random, parts, bikes = Random(1), part_ids(old), sorted({*old.bikes, *old.ambiguous})
    for _ in range(number):
        yield random.choice(bikes), random.choice(parts), random.choice(FITTERS)


def main() -> None:
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--others", type=int, default=300)
    arguments.add_argument("--every", type=int, default=1)
    asked = arguments.parse_args()
    began = time.process_time()
    with tempfile.TemporaryDirectory() as directory:
        found = compare(*catalogs(Path(directory) / "catalog"), every=asked.every, others=asked.others)
    print(
        json.dumps(
            {
                "changed": len(found.told),
                "asked_anew": found.asked,
                "missing": sorted(found.missing),
                "extra": sorted(found.extra),
                "cpu_seconds": round(time.process_time() - began, 1),
            }
        )
    )
    sys.exit(1 if found.missing or found.extra else 0)


if __name__ == "__main__":
    main()
