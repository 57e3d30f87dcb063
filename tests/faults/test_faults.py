"""The fault programs in short: what they find is nothing. `python -m tests.faults.releasing` injects every fault."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest

from tests.faults.killed import STEPS
from tests.faults.releasing import FAULTS

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
    assert run("activation", "--activations", "4") == [NOTHING]


SOME = ("killed: serving", "date over a year's edge")
"""Each takes seconds, since a service and its visitors run all the while; all of them take minutes."""


@pytest.mark.slow
def test_some_faults_on_the_way_to_a_release_are_survived() -> None:
    *_, total = run("releasing", *(word for name in SOME for word in ("--only", name)))
    assert total == {**NOTHING, "unrecovered": 0}


def test_the_full_run_knows_every_fault() -> None:
    steps = {f"killed: {step}" for step in STEPS}
    assert {*SOME, *steps} < set(FAULTS)
    assert set(FAULTS) - steps == {
        "disk full",
        "directory changed while read",
        "file removed while read",
        "two managers at once",
        "truncated upload",
        "database gone",
        "date over a year's edge",
        "large release",
    }


@pytest.mark.slow
def test_killed_writers_of_plans_lose_nothing_and_leave_nothing_half() -> None:
    assert run("plans", "--writers", "16", "--services", "1") == [{"lost": 0, "half": 0}]


@pytest.mark.slow
def test_what_the_world_sends_neither_falsifies_nor_fails_the_service() -> None:
    some = ("strange bodies", "strange addresses", "header floods", "no HTTP", "clients that vanish")
    *_, total = run("service", *(word for name in some for word in ("--only", name)))
    assert total == {"wrong": 0, "status_500": 0, "unrecovered": 0}


@pytest.mark.slow
def test_a_killed_worker_is_replaced_while_the_others_answer() -> None:
    line, total = run("service", "--only", "one of several workers killed")
    assert int(str(line["asked"])) > 0
    assert total == {"wrong": 0, "status_500": 0, "unrecovered": 0}
