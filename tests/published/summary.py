"""`python -m tests.published.summary` counts the published values that the calculations meet, as JSON."""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from tests.published.reading import Row, files, not_covered, rows


def tally(kept: Iterable[tuple[str, bool]]) -> Mapping[str, Mapping[str, int]]:
    """Count under each heading what was met and what was not."""
    counts = Counter(kept)
    headings = sorted({heading for heading, _ in counts})
    return {x: {"passed": counts[x, True], "failed": counts[x, False]} for x in headings}


def summary() -> Mapping[str, Any]:
    """Calculate every row."""
    judged: list[tuple[Row, bool]] = [(row, row.agrees()) for topic in files() for row in rows(topic)]
    return {
        "passed": sum(met for _, met in judged),
        "failed": sum(not met for _, met in judged),
        "by_topic": tally((row.topic, met) for row, met in judged),
        "by_provenance": tally((row.standing, met) for row, met in judged),
        "not_covered": sorted([row, reason] for row, reason in not_covered()),
    }


if __name__ == "__main__":
    found = summary()
    print(json.dumps(found, indent=1))
    sys.exit(1 if found["failed"] else 0)
