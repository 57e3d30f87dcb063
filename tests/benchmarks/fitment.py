"""What one fit check costs in this process, over plain ways to the same verdict: a walk of the rules, a table of pairs.

    python -m tests.benchmarks.fitment

Prints JSON. The catalog is drawn: 500 bikes, 20,000 parts, 2,000 rules. The engine judges each pair once, when it is asked
about first; `judged_ms` says what that takes. The checks that are timed find what was judged, as every later question does.
Speakers, amplifiers, harnesses and power kits are among the pairs: they take a search where they fit with extras.
The walk of the rules does less than a check: it knows no extras, no wiring, no prices and no words.
"""

from __future__ import annotations

import argparse
import json
import sqlite3
import tempfile
import time
from collections.abc import Callable, Mapping
from datetime import date
from pathlib import Path
from random import Random
from statistics import median
from typing import Any

from rules.catalog.catalog import Catalog
from rules.load import load_catalog
from rules.question import FitQuestion
from rules.release import Release
from rules.verdict import Verdict
from service.serving import Serving
from service.storefront.answers import fit_recipe, fit_told
from tests.benchmarks.catalogs import Size, draw_catalog, write_catalog

ON = date(2026, 5, 4)
LARGE = Size()
TENTH = Size(parts=LARGE.parts // 10, rules=LARGE.rules)
KINDS = (
    "grille",
    "ring",
    "deadening",
    "hardware",
    "bezel",
    "carrier",
    "speaker",
    "amplifier",
    "harness",
    "power_kit",
)
ROUNDS = 5
Rules = list[dict[str, Any]]
Asked = list[tuple[str, str]]


def pairs_of(catalog: Catalog, count: int) -> Asked:
    """Draw pairs of a few bikes, so that setting bikes up does not count."""
    random = Random(1)
    bikes = random.sample(sorted(catalog.bikes), 5)
    parts = [x.id for x in catalog.parts.values() if x.kind in KINDS]
    return [(random.choice(bikes), part) for part in random.sample(parts, min(count, len(parts)))]


def walked(rules: Rules, bike: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    """Walk the rules as dictionaries: does none of those about this part refuse it on this bike?"""
    for rule in rules:
        subject = rule.get("subject")
        if subject is None or not _selects(subject, part):
            continue
        if rule["kind"] == "clearance":
            if not _has_room(rule, bike, part):
                return False
        elif rule["kind"] == "excludes" and _holds(rule["when"], bike, part):
            return False
    return True


def _selects(subject: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    if subject.get("part") and part["id"] not in subject["part"]:
        return False
    if subject.get("tag") and subject["tag"] not in part["tags"]:
        return False
    return all(subject.get(key) in (None, part[key]) for key in ("kind", "line", "slot"))


def _has_room(rule: Mapping[str, Any], bike: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    measure, margin = part["spec"].get(rule["spec"]), rule.get("margin") or 0
    rooms = [place["geometry"].get(rule["geometry"]) for place in bike["places"].values()]
    known = [room for room in rooms if isinstance(room, int | float)]
    if measure is None or not known:
        return False
    if rule["relation"] == "equals":
        return any(abs(measure - room) <= margin for room in known)
    if rule["relation"] == "at_least":
        return any(measure >= room + margin for room in known)
    return any(measure + margin <= room for room in known)


def _holds(when: Mapping[str, Any] | None, bike: Mapping[str, Any], part: Mapping[str, Any]) -> bool:
    if when is None:
        return True
    for word, combine in (("all", all), ("any", any)):
        if when.get(word):
            return combine(_holds(inner, bike, part) for inner in when[word])
    if when.get("not"):
        return not _holds(when["not"], bike, part)
    value = _value(when.get("fact") or "", bike, part)
    low_high = when.get("in")
    if low_high and isinstance(value, int):
        return bool(low_high[0] <= value <= low_high[-1])
    return bool(value == when.get("is"))


def _value(fact: str, bike: Mapping[str, Any], part: Mapping[str, Any]) -> Any:
    scope, _, name = fact.partition(".")
    return part["spec"].get(name) if scope == "part" else bike.get(name)


def plain(catalog: Catalog) -> tuple[Rules, dict[str, dict[str, Any]], dict[str, dict[str, Any]]]:
    """Give rules, bikes and parts as dictionaries."""
    rules = [rule.model_dump(mode="json", by_alias=True) for rule in catalog.rules.values()]
    bikes = {
        x.id: {"family": x.family, "year": x.year, "trim": x.trim, **x.has.model_dump(mode="json")}
        for x in catalog.bikes.values()
    }
    parts = {
        x.id: {
            "line": catalog.lines[x.id],
            **x.model_dump(mode="json", include={"id", "kind", "slot", "tags", "spec"}),
        }
        for x in catalog.parts.values()
    }
    return rules, bikes, parts


def each_us(work: Callable[[], object], count: int) -> float:
    """Give the time of one of `count` [us]."""
    begun = time.perf_counter()
    work()
    return (time.perf_counter() - begun) / count * 1e6


class Shop:
    """A catalog whose pairs were asked about once."""

    def __init__(self, directory: Path, size: Size, pairs: int) -> None:
        write_catalog(directory, draw_catalog(size))
        self.serving = Serving.of(Release.of(load_catalog(directory)))
        self.catalog = self.serving.catalog
        self.pairs = pairs_of(self.catalog, pairs)
        self.judged_ms = [each_us(lambda pair=pair: self._ask(*pair), 1) / 1e3 for pair in self.pairs]  # type: ignore[misc]

    def _ask(self, bike: str, part: str) -> None:
        fit_recipe(FitQuestion(bike=bike, part=part, on=ON), self.serving)

    def check_us(self) -> float:
        """Ask for verdicts, ids in."""
        find = self.serving.table.find

        def work() -> None:
            for bike, part in self.pairs:
                recipe = find(bike, part, None, "shop", ON)
                assert recipe is not None
                recipe.verdict  # noqa: B018 -- this is what is asked for

        return each_us(work, len(self.pairs))

    def explained_us(self) -> float:
        """Ask for whole answers with their causes, as JSON."""

        def work() -> None:
            for bike, part in self.pairs:
                question = FitQuestion(bike=bike, part=part, on=ON)
                fit_told(fit_recipe(question, self.serving), question, self.serving)

        return each_us(work, len(self.pairs))

    def list_us(self) -> float:
        """List what fits each bike, of all that was asked about."""
        bikes = sorted({bike for bike, _ in self.pairs})

        def work() -> None:
            for bike in bikes:
                row = self.serving.table.row(bike, None, "shop", ON)
                assert row is not None
                list(row.fitting)

        return each_us(work, len(bikes))

    def sqlite_us(self) -> tuple[float, int]:
        """List the same from an indexed table of pairs in memory, and tell how many rows there are to a bike."""
        database = sqlite3.connect(":memory:")
        database.execute("CREATE TABLE pairs (bike TEXT, part TEXT, PRIMARY KEY (bike, part)) WITHOUT ROWID")
        bikes = sorted({bike for bike, _ in self.pairs})
        rows = {bike: self.serving.table.row(bike, None, "shop", ON) for bike in bikes}
        fitting = [(bike, part) for bike, row in rows.items() if row for part in row.fitting]
        database.executemany("INSERT INTO pairs VALUES (?, ?)", fitting)

        def work() -> None:
            for bike in bikes:
                database.execute("SELECT part FROM pairs WHERE bike = ? ORDER BY part", (bike,)).fetchall()

        return each_us(work, len(bikes)), len(fitting) // len(bikes)

    def walk_us(self, count: int) -> tuple[float, int]:
        """Walk the rules for some of the pairs, and tell for how many the walk says yes where the engine says no."""
        rules, bikes, parts = plain(self.catalog)
        some = self.pairs[:count]
        said: list[bool] = []
        took = each_us(lambda: said.extend(walked(rules, bikes[b], parts[p]) for b, p in some), count)
        verdicts = [self.serving.table.find(b, p, None, "shop", ON) for b, p in some]
        no = (Verdict.DOES_NOT_FIT, Verdict.NOT_VERIFIED)
        return took, sum(
            yes and x is not None and x.verdict in no for yes, x in zip(said, verdicts, strict=True)
        )


def measure(folder: Path, pairs: int) -> dict[str, Any]:
    """Measure on both sizes, in interleaved rounds."""
    shop, small = Shop(folder / "large", LARGE, pairs), Shop(folder / "small", TENTH, pairs)
    names = ("check", "explained", "list", "sqlite", "walk", "small")
    seen: dict[str, list[float]] = {name: [] for name in names}
    listed = differ = 0
    for _ in range(ROUNDS):
        seen["check"].append(shop.check_us())
        seen["small"].append(small.check_us())
        seen["explained"].append(shop.explained_us())
        seen["list"].append(shop.list_us())
        took, listed = shop.sqlite_us()
        seen["sqlite"].append(took)
        took, differ = shop.walk_us(min(200, pairs))
        seen["walk"].append(took)

    def over(one: str, other: str) -> float:
        return median(x / y for x, y in zip(seen[one], seen[other], strict=True))

    return {
        "check_over_dict_walk": f"1/{1 / over('check', 'walk'):.0f}",
        "explained_over_dict_walk": f"1/{1 / over('explained', 'walk'):.0f}",
        "list_over_sqlite": f"1/{1 / over('list', 'sqlite'):.1f}",
        "growth": round(over("check", "small"), 2),
        "absolute": {
            **{f"{name}_us": round(median(values), 2) for name, values in seen.items()},
            "judged_ms": {
                "median": round(median(shop.judged_ms), 1),
                "p95": round(sorted(shop.judged_ms)[len(shop.judged_ms) * 95 // 100], 1),
                "most": round(max(shop.judged_ms), 1),
            },
            "judged_small_ms": {"median": round(median(small.judged_ms), 1)},
            "parts_listed_to_a_bike": listed,
            "walk_says_yes_where_the_engine_says_no": differ,
            "bikes": len(shop.catalog.bikes),
            "parts": len(shop.catalog.parts),
            "rules": len(shop.catalog.rules),
            "pairs": pairs,
        },
    }


def main() -> None:
    """Measure, and print JSON."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=2_000)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        print(json.dumps(measure(Path(folder), asked.pairs), indent=2))


if __name__ == "__main__":
    main()
