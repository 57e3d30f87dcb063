"""Releases a directory and kills itself at one step: run by `tests.faults.releasing` as a process of its own.

Run as `python -m tests.faults.killed DIR STEP`. Steps are those that the manager tells of, and `keeping` and `serving`: in the
middle of the transaction that keeps or serves.
"""

from __future__ import annotations

import os
import signal
import sys
from pathlib import Path
from typing import Any

from sqlalchemy import event

from rules.impact import Acknowledgement
from service.releasing.files import read_directory, write_archive
from service.releasing.manager import Manager
from service.releasing.outcome import Kept
from service.terminal.database import open_database

STEPS = ("read", "checked", "keeping", "kept", "cases asked", "impact seen", "serving", "served")
_INTO = {"keeping": "INSERT INTO releases", "serving": "INSERT INTO history"}


def kill_at(step: str, wanted: str) -> None:
    """Die as a process does that is killed: nothing is finished, nothing is cleaned up."""
    if step == wanted:
        os.kill(os.getpid(), signal.SIGKILL)


def main() -> None:
    """Release, up to the step."""
    directory, wanted = Path(sys.argv[1]), sys.argv[2]
    archive = write_archive(read_directory(directory))
    kill_at("read", wanted)
    with open_database() as database:

        def after(_: Any, __: Any, statement: str, *___: Any) -> None:
            if wanted in _INTO and statement.startswith(_INTO[wanted]):
                kill_at(wanted, wanted)

        event.listen(database.engine, "after_cursor_execute", after)
        manager = Manager(database=database, by="somebody", tell=lambda step: kill_at(step, wanted))
        kept = manager.take_in(archive, "killed")
        assert isinstance(kept, Kept)
        seen = manager.impact(kept.release.id, manager.history.standing().release or "", manager.now().date())
        wanted_changes = tuple(
            Acknowledgement(change=group.change, who="somebody", on=seen.on, why="tests")
            for group in seen.groups
        )
        manager.activate(kept.release.id, "killed", on=seen.on, acknowledgements=wanted_changes)


if __name__ == "__main__":
    main()
