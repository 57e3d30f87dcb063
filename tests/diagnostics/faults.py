"""The injector: seeds each fault into the base catalog and tells which were flagged where they are.

`python -m tests.diagnostics.faults` lists them; with `--json` it prints a summary.
"""

from __future__ import annotations

import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from rules.diagnostics import one_line
from tests.diagnostics.corpus import bikes, entries, files, money, parts, rules, survey, wires, yaml
from tests.diagnostics.fault import Fault, check, is_flagged

FAULTS: tuple[Fault, ...] = tuple(
    fault
    for chapter in (files, yaml, entries, bikes, wires, parts, rules, money, survey)
    for fault in chapter.FAULTS
)


def missed(faults: tuple[Fault, ...]) -> Iterator[dict[str, object]]:
    """Every fault that was not flagged exactly, with what was expected and what was reported."""
    for fault in faults:
        with tempfile.TemporaryDirectory() as directory:
            place = fault.seed(Path(directory) / "catalog")
            found = check(Path(directory) / "catalog", fault.on)
        if not is_flagged(fault, place, found):
            expected = f"{place.file}:{place.line}:{place.column}-{place.end_column} {fault.code}"
            yield {"fault": fault.title, "expected": expected, "found": [one_line(each) for each in found]}


def summary(faults: tuple[Fault, ...] = FAULTS) -> dict[str, object]:
    """How many faults were seeded and flagged, and which were reported elsewhere or not at all."""
    elsewhere = list(missed(faults))
    return {"faults": len(faults), "flagged": len(faults) - len(elsewhere), "elsewhere": elsewhere}


def main(arguments: list[str]) -> int:
    if "--json" not in arguments:
        print("\n".join(f"{fault.code}: {fault.title}" for fault in FAULTS))
        return 0
    result = summary()
    print(json.dumps(result, indent=2, ensure_ascii=False))
    return 1 if result["elsewhere"] else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
