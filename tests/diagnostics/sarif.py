"""Validates what `loomway check --sarif` prints, for every seeded fault, against the whole published schema of SARIF 2.1.0.

    npm pack @microsoft/sarif-multitool-linux@5.7.0
    tar xzf microsoft-sarif-multitool-linux-5.7.0.tgz package/sarif-2.1.0.json
    python -m tests.diagnostics.sarif package/sarif-2.1.0.json

Source of the schema: OASIS, SARIF Version 2.1.0, as that package (MIT licence) has it in a file of its own. It is not kept here;
`tests/unit/service/test_sarif.py` asks the sections that we use. Prints JSON, and ends with 1 if a log is not valid.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path

from jsonschema.protocols import Validator
from jsonschema.validators import validator_for

from rules.registry import CODES
from service.terminal.sarif import to_sarif
from tests.diagnostics.fault import check
from tests.diagnostics.faults import FAULTS


def main() -> None:
    """Read the schema, and validate a log for each fault."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("schema", type=Path)
    schema = json.loads(arguments.parse_args().schema.read_text(encoding="utf-8"))
    kind = validator_for(schema)
    kind.check_schema(schema)
    validator = kind(schema, format_checker=kind.FORMAT_CHECKER)
    results, wrong = 0, list[str]()
    for fault in FAULTS:
        with tempfile.TemporaryDirectory() as directory:
            catalog = Path(directory) / "catalog"
            fault.seed(catalog)
            found = check(catalog, fault.on)
        results += len(found)
        wrong += [f"{fault.title}: {said}" for said in faults_of(validator, to_sarif(found, CODES, "0"))]
    print(json.dumps({"schema": schema["title"], "logs": len(FAULTS), "results": results, "wrong": wrong}))
    sys.exit(1 if wrong or not results or is_blind(validator) else 0)


def faults_of(validator: Validator, log: object) -> list[str]:
    return [error.message for error in validator.iter_errors(log)]


def is_blind(validator: Validator) -> bool:
    """Tell whether a log without its runs would pass: then this schema says nothing."""
    return not faults_of(validator, {"version": "2.1.0"})


if __name__ == "__main__":
    main()
