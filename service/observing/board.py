"""Where the workers of one command show each other their figures, so that whoever asks one of them is told of all."""

from __future__ import annotations

import fcntl
import json
import threading
from collections.abc import Callable, Iterable, Iterator
from itertools import count
from pathlib import Path
from typing import IO

from prometheus_client.core import Metric

EVERY_S = 1.0
"""How old the figures of another worker may be [s]."""


class Board:
    """One worker's place at a directory that all have in common.

    A worker takes the lowest free number. Its lock goes with its process, so one that is started in the place of a dead one
    takes its number over, and begins to count anew, as Prometheus expects of a process.

    Args:
        tell: Gives this worker's figures.
    """

    def __init__(self, directory: Path, tell: Callable[[], Iterable[Metric]]) -> None:
        self.directory = directory
        self.number = 0
        self._lock: IO[str] | None = None
        self._tell = tell
        self._stopped = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Take a number, and show figures from now on."""
        self._take_number()
        self.show()
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, name="board", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Show no more, and give the number back."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()
        if self._lock is not None:
            self._lock.close()

    def all(self) -> Iterator[Metric]:
        """Give the figures of every worker, each marked with its number."""
        merged: dict[str, Metric] = {}
        for number, metrics in sorted(self._shown()):
            for metric in metrics:
                whole = merged.setdefault(metric.name, Metric(metric.name, metric.documentation, metric.type))
                for sample in metric.samples:
                    whole.add_sample(sample.name, {**sample.labels, "worker": str(number)}, sample.value)
        yield from merged.values()

    def _shown(self) -> Iterator[tuple[int, list[Metric]]]:
        yield self.number, list(self._tell())
        for path in self.directory.glob("*.json"):
            number = int(path.stem)
            if number != self.number and not self._is_free(number):
                yield number, _read(path)

    def show(self) -> None:
        """Show the figures as they are now."""
        told = [[x.name, x.documentation, x.type, [s[:3] for s in x.samples]] for x in self._tell()]
        path = self.directory / f"{self.number}.json"
        # Whoever reads meanwhile reads what was there before.
        beside = path.with_suffix(".new")
        beside.write_text(json.dumps(told), encoding="utf-8")
        beside.replace(path)

    def _run(self) -> None:
        while not self._stopped.wait(EVERY_S):
            self.show()

    def _take_number(self) -> None:
        numbers = count(1)
        while self._lock is None:
            self.number = next(numbers)
            self._lock = _locked(self.directory / f"{self.number}.lock")

    def _is_free(self, number: int) -> bool:
        lock = _locked(self.directory / f"{number}.lock")
        if lock is not None:
            lock.close()
        return lock is not None


def _locked(path: Path) -> IO[str] | None:
    """Lock a file; None if somebody else has."""
    file = path.open("w")
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        file.close()
        return None
    return file


def _read(path: Path) -> list[Metric]:
    found = []
    for name, documentation, kind, samples in json.loads(path.read_text(encoding="utf-8")):
        metric = Metric(name, documentation, kind)
        for sample in samples:
            metric.add_sample(*sample)
        found.append(metric)
    return found
