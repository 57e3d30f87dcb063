"""Several processes that serve the same on one port, watched over by one command."""

from __future__ import annotations

import multiprocessing
import os
import signal
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from fastapi import FastAPI
from uvicorn.supervisors import Multiprocess

from rules.release import Release
from rules.stored import from_stored, to_stored
from service.app import create_app
from service.garbage import settle
from service.settings import Settings
from service.terminal.mistakes import exit_code
from service.terminal.output import hint
from service.terminal.serving import configure, listen

PATIENCE_S = 60
"""How long a worker may be too busy to say that it lives, before another takes its place [s]."""

PAUSE_S = 1.0
"""Before a worker that could not start is started again [s]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Worker:
    """Makes the application of one worker in a process of its own.

    Attributes:
        make: Makes it, given the directory where workers show their figures.
    """

    make: Callable[[Path], FastAPI]
    board: Path

    def __call__(self) -> FastAPI:
        """Make it; if that fails the process ends, and the command starts another."""
        threading.Thread(target=_end_with_the_command, name="command", daemon=True).start()
        try:
            app = self.make(self.board)
        except Exception as error:
            if exit_code(error) is None:
                raise
            time.sleep(PAUSE_S)
            raise SystemExit(1) from error
        settle()
        return app


def serve_catalog(count: int, settings: Settings, release: Release) -> None:
    """Serve one release with several processes until stopped.

    A worker, whenever it is started, serves what the command read, whatever has become of the directory.
    """
    serve_workers(count, settings, partial(_catalog_app, settings, release.id, to_stored(release.catalog)))


def _catalog_app(settings: Settings, release: str, stored: bytes, board: Path) -> FastAPI:
    return create_app(Release(id=release, catalog=from_stored(stored)), settings, board=board)


def serve_workers(count: int, settings: Settings, make: Callable[[Path], FastAPI]) -> None:
    """Serve with several processes until stopped. SIGHUP starts each of them anew, one after the other.

    Args:
        make: Makes the application of a worker in its process, given the directory where workers show their figures.

    Raises:
        WrongCommand: Somebody else has the port.
    """
    listening, where = listen(settings)
    with tempfile.TemporaryDirectory(prefix="loomway-workers-") as board:
        worker = Worker(make=make, board=Path(board))
        config = configure(worker)
        config.factory, config.workers, config.timeout_worker_healthcheck = True, count, PATIENCE_S
        hint(f"Loomway answers at {where} with {count} workers (Ctrl-C stops it)")
        Multiprocess(config, sockets=[listening]).run()
    hint("stopped")


def _end_with_the_command() -> None:
    """Stop, as if told to, when the command is gone: nobody would watch over this worker any more."""
    command = multiprocessing.parent_process()
    if command is not None:
        command.join()
        os.kill(os.getpid(), signal.SIGTERM)
