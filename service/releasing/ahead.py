"""Pairs of a release that is not served yet, worked out in a process apart: answers of the one that is served go on meanwhile."""

from __future__ import annotations

import os
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import suppress
from datetime import date
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from rules.holds import HeldPart
from rules.release import ENGINE_REVISION
from service.releasing.failures import Failure
from service.releasing.opening import open_release
from service.serving import Serving
from service.store.database import Database
from service.store.errors import StoreError
from service.storefront.table import Asked
from service.storefront.warming import Judged, judged, set_aside

NICENESS = 19
"""The least that there is: answers come first wherever processors are short."""

TOGETHER = 5
"""Pairs that are sent at once: whoever takes them in waits for the interpreter a few times for each sending."""

LOOKED_EVERY_S = 0.2
"""How often it is looked whether nobody wants the pairs any more [s]."""


class Ahead:
    """Works pairs out in a process of its own, which opens the release for itself.

    Args:
        database: Keeps the release.
    """

    def __init__(self, database: Database) -> None:
        self._address = database.address

    def __call__(
        self, serving: Serving, pairs: Sequence[Asked], on: date, stopped: threading.Event
    ) -> Iterator[Judged]:
        """Give what has been worked out, as it comes; if that process dies, nothing more comes."""
        if not pairs:
            return
        context = get_context("spawn")
        ours, theirs = context.Pipe(duplex=False)
        asked = (theirs, self._address, serving.release.id, serving.holds, ENGINE_REVISION, pairs, on)
        process = context.Process(target=_work, args=asked, name="ahead", daemon=True)
        _start_quietly(process)
        theirs.close()
        try:
            while not stopped.is_set():
                if ours.poll(LOOKED_EVERY_S):
                    yield from ours.recv()
        except EOFError:
            pass
        finally:
            process.kill()
            process.join()
            ours.close()


def _start_quietly(process: BaseProcess) -> None:
    """Start a process at the least priority: before it could lower its own, it would import all of the service beside answers."""

    def start() -> None:
        if sys.platform == "linux":
            # Here a thread has a priority of its own, which it hands on to what it starts and can never raise again. So it ends.
            os.setpriority(os.PRIO_PROCESS, 0, NICENESS)
            # Idle, it only runs where nothing else would: at the least priority it still takes whole turns of a processor.
            os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
        process.start()

    thread = threading.Thread(target=start, name="ahead")
    thread.start()
    thread.join()


def _work(
    told: Connection,
    address: str,
    release: str,
    holds: tuple[HeldPart, ...],
    revision: int,
    pairs: Sequence[Asked],
    on: date,
) -> None:
    """Work pairs out, and tell of each.

    Args:
        revision: Of the engine that will answer: the program may have been changed on the disk since that was started.
    """
    os.nice(NICENESS)  # which may have been done, and cannot be too much
    # Without the release there is nothing to work out, and without a listener nobody to tell.
    with suppress(Failure, StoreError, OSError):
        with set_aside():
            serving = Serving.of(open_release(Database(address), release), holds)
        wanted = pairs if revision == ENGINE_REVISION else ()
        for at in range(0, len(wanted), TOGETHER):
            told.send([judged(pair, on, serving) for pair in wanted[at : at + TOGETHER]])
