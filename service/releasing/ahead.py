"""Pairs of a release that is not served yet, worked out in a process apart: answers of the one that is served go on meanwhile."""

from __future__ import annotations

import asyncio
import os
import pickle
import sys
import threading
import time
from collections.abc import AsyncGenerator, Sequence
from contextlib import aclosing, suppress
from datetime import date
from multiprocessing import get_context
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess

from rules.holds import HeldPart
from rules.release import ENGINE_REVISION
from service.garbage import set_aside
from service.releasing.failures import Failure
from service.releasing.opening import open_release
from service.serving import Serving
from service.store.database import Database
from service.store.errors import StoreError
from service.storefront.table import Asked
from service.storefront.warming import Judged, judged

NICENESS = 19
"""The least that there is: answers come first wherever processors are short."""

AT_ONCE_BYTES = 32_768
"""What is told at once, some twenty pairs: each telling wakes whoever answers, and the system may wake it beside other work."""

RESTS = 2
"""How long it rests after each pair, in times that the pair took. Idle work is not always put off at once where an answer comes up;
its rests let the system find it another place."""

SIZE_BYTES = 4
"""What is told of one pair is preceded by its length in so many bytes."""


class Ahead:
    """Works pairs out in a process of its own, which opens the release for itself.

    Args:
        database: Keeps the release.
    """

    def __init__(self, database: Database) -> None:
        self._address = database.address

    async def __call__(
        self, serving: Serving, pairs: Sequence[Asked], on: date
    ) -> AsyncGenerator[Judged, None]:
        """Give what has been worked out, as it comes; if that process dies, nothing more comes."""
        if not pairs:
            return
        hears, tells = os.pipe()
        theirs = Connection(tells, readable=False)
        asked = (theirs, self._address, serving.release.id, serving.holds, ENGINE_REVISION, pairs, on)
        process = get_context("spawn").Process(target=_work, args=asked, name="ahead", daemon=True)
        starting = threading.Thread(target=_start_quietly, args=(process, theirs), name="ahead")
        starting.start()
        try:
            async with aclosing(_heard(hears)) as heard:
                async for one in heard:
                    yield one
        finally:
            await asyncio.to_thread(_end, process, starting)


def _start_quietly(process: BaseProcess, theirs: Connection) -> None:
    """Start a process at the least priority: before it could lower its own, it would import all of the service beside answers."""
    # Once it has it, or cannot be started, nobody here may seem to tell.
    with theirs:
        if sys.platform == "linux":
            # Here a thread has a priority of its own, which it hands on to what it starts and can never raise again. So it ends.
            os.setpriority(os.PRIO_PROCESS, 0, NICENESS)
            # Idle, it only runs where nothing else would: at the least priority it still takes whole turns of a processor.
            os.sched_setscheduler(0, os.SCHED_IDLE, os.sched_param(0))
        # Where it cannot be started, whoever asks first waits.
        with suppress(OSError):
            process.start()


def _end(process: BaseProcess, starting: threading.Thread) -> None:
    starting.join()
    if process.pid is not None:
        process.kill()
        process.join()


async def _heard(hears: int) -> AsyncGenerator[Judged, None]:
    """Give what comes through a pipe, until nobody holds its other end."""
    reader = asyncio.StreamReader()
    transport, _ = await asyncio.get_running_loop().connect_read_pipe(
        lambda: asyncio.StreamReaderProtocol(reader), os.fdopen(hears, "rb", buffering=0)
    )
    try:
        while True:
            size = int.from_bytes(await reader.readexactly(SIZE_BYTES))
            yield pickle.loads(await reader.readexactly(size))  # noqa: S301 -- of a process that this one has started
    except asyncio.IncompleteReadError:
        return
    finally:
        transport.close()


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
        with open(told.fileno(), "wb", AT_ONCE_BYTES, closefd=False) as tells:
            for pair in wanted:
                found = judged(pair, on, serving)
                told_of_it = pickle.dumps(found)
                tells.write(len(told_of_it).to_bytes(SIZE_BYTES) + told_of_it)
                time.sleep(RESTS * found.took_s)
