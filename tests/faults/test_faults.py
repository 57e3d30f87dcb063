"""The fault programs in short: what they find is nothing. The full runs are in docs/operating.md."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

NOTHING = {"failed": 0, "mixed_release": 0, "wrong": 0}


def run(module: str, *arguments: str) -> list[dict[str, object]]:
    done = subprocess.run(
        [sys.executable, "-m", f"tests.faults.{module}", *arguments],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


@pytest.mark.slow
def test_activations_under_load_fail_mix_and_falsify_nothing() -> None:
    assert run("activation", "--activations", "20") == [NOTHING]


@pytest.mark.slow
def test_every_fault_on_the_way_to_a_release_is_survived() -> None:
    *_, total = run("releasing", "--megabytes", "1", "--gone", "1")
    assert total == {**NOTHING, "unrecovered": 0}
