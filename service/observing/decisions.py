"""The decision log: what was answered to whom, so that any answer can be given again and compared to the byte.

A line holds the question, the release, the day and the digest of the answer. A thread writes lines, so no request waits for a disk.
It makes none: whenever an answer is sent, another thread may take the interpreter, and whoever answers waits to have it back. What
finds no room is dropped and counted, and the count is a figure.
"""

from __future__ import annotations

import os
import threading
from collections import deque
from collections.abc import Iterator
from datetime import UTC, date, datetime
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from pydantic_core import from_json, to_json

from service.storefront.answers import day_piece

ROOM = 20_000
"""Lines that wait to be written; beyond, they are dropped."""

LONGEST_BODY = 100_000
"""Bytes of a question that are kept; an answer to a longer one is dropped, since it could not be given again."""

AT_ONCE = 1_000
"""Lines that are written at once; systems take hardly more pieces in one writing (IOV_MAX of POSIX, 1,024 on most)."""

PAUSE_S = 0.25
"""Between two writings [s]: each takes the interpreter from whoever answers, several times."""


class Decision(NamedTuple):
    """One answer: the question as it came, what was served on which day, and the digest of the answer."""

    at: datetime
    request: str
    method: str
    path: str
    query: str
    body: bytes
    release: str
    on: date
    status: int
    digest: str


class Note(NamedTuple):
    """What is noted of one answer while it is given: `at` in seconds since 1970."""

    at: float
    request: bytes
    method: str
    path: str
    query: bytes
    body: bytes
    release: str
    on: date
    status: int
    digest: bytes

    def line(self) -> bytes:
        """Write it as JSON, field by field, since answers wait meanwhile."""
        return (
            b'{"at":"%b","request":"%b","method":"%b","path":%b,"query":%b,"body":%b,"release":"%b","on":"%b","status":%d,"digest":"%b"}\n'
            % (
                _moment(self.at),
                self.request,
                self.method.encode(),
                to_json(self.path),
                to_json(self.query.decode("latin-1")),
                to_json(self.body.decode(errors="replace")),
                self.release.encode(),
                day_piece(self.on),
                self.status,
                self.digest,
            )
        )


def _moment(at: float) -> bytes:
    seconds = int(at)
    return b"%b.%06dZ" % (_second(seconds), (at - seconds) * 1_000_000)


@lru_cache(maxsize=16)
def _second(at: int) -> bytes:
    return datetime.fromtimestamp(at, UTC).strftime("%Y-%m-%dT%H:%M:%S").encode()


def read_decisions(path: Path) -> Iterator[Decision]:
    """Read a log back. A line that a full disk has cut short was counted as dropped, and is passed over."""
    with path.open("rb") as lines:
        for line in lines:
            if line.startswith(b"{") and not line.endswith(b"}\n"):
                continue
            read = from_json(line)
            at, on = datetime.fromisoformat(read.pop("at")), date.fromisoformat(read.pop("on"))
            yield Decision(at=at, on=on, body=read.pop("body").encode(), **read)


class DecisionLog:
    """Writes decisions to a file, from a thread of its own."""

    def __init__(self, path: Path, room: int = ROOM) -> None:
        self.path = path
        self.dropped = 0
        self._room = room
        self._is_cut = False
        self._waiting: deque[bytes] = deque()
        self._stopped = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self) -> None:
        """Write from now on."""
        self._stopped.clear()
        self._thread = threading.Thread(target=self._run, name="decisions", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """Write what waits, and stop."""
        self._stopped.set()
        if self._thread is not None:
            self._thread.join()
        self.write()

    def add(self, note: Note) -> None:
        """Let a note wait to be written, or drop it."""
        if len(self._waiting) >= self._room or len(note.body) > LONGEST_BODY:
            self.dropped += 1
        else:
            self._waiting.append(note.line())

    def write(self) -> None:
        """Write all that waits. If the disk is full, what cannot be written is dropped, and answers go on."""
        while self._waiting:
            self._write([self._waiting.popleft() for _ in range(min(AT_ONCE, len(self._waiting)))])

    def _write(self, lines: list[bytes]) -> None:
        # At once, since other workers write to the same file; after a line that was cut short, on a new one. The system puts the
        # lines together, while others have the interpreter.
        pieces = [b"\n", *lines] if self._is_cut else lines
        try:
            with self.path.open("ab", buffering=0) as file:
                cut = sum(map(len, pieces)) - os.writev(file.fileno(), pieces)
        except OSError:
            self.dropped += len(lines)
            return
        self._is_cut = cut > 0
        while cut > 0 and lines:
            cut -= len(lines.pop())
            self.dropped += 1

    def _run(self) -> None:
        while not self._stopped.wait(PAUSE_S):
            self.write()
