"""A PostgreSQL server of the tests' own: Debian's binaries, another user, a free port, and no trace afterwards."""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from itertools import count
from pathlib import Path

import psycopg
import pytest

_NUMBERS = count(1)


@dataclass(frozen=True, slots=True)
class Server:
    """A running server."""

    port: int
    directory: Path
    process: subprocess.Popen[bytes]

    def new_database(self) -> str:
        """Make an empty database, and give its address."""
        name = f"t{next(_NUMBERS)}"
        with psycopg.connect(self._address("postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE DATABASE {name}")
        return self._address(name)

    def _address(self, name: str) -> str:
        return f"postgresql://tester@127.0.0.1:{self.port}/{name}"


def binaries() -> Path | None:
    """Where the newest server's binaries are, if there is one."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/postgres"), key=lambda file: int(file.parts[-3]))
    on_path = shutil.which("postgres")
    return found[-1].parent if found else Path(on_path).resolve().parent if on_path else None


@contextmanager
def postgresql() -> Iterator[Server]:
    """Run a server. Without binaries tests are skipped, but fail where CI is set: there they must run."""
    where = binaries()
    if where is None:
        if os.environ.get("CI") == "true":
            pytest.fail("no PostgreSQL server on this machine; .ci/run installs one")
        pytest.skip("no PostgreSQL server on this machine (Debian: apt-get install postgresql)")
    directory = Path(tempfile.mkdtemp(prefix="loomway-pg-"))
    user = _user()
    try:
        if user:
            shutil.chown(directory, user)
        data = directory / "data"
        subprocess.run(
            [where / "initdb", "-D", data, "-U", "tester", "-A", "trust", "-E", "UTF8", "--no-sync"],
            check=True,
            capture_output=True,
            user=user,
            cwd=directory,
        )
        yield from _serve(where, directory, user)
    finally:
        shutil.rmtree(directory, ignore_errors=True)


def _user() -> str | None:
    """The server refuses to run as root, so it runs as somebody else then."""
    if os.getuid() != 0:
        return None
    names = {entry.pw_name for entry in pwd.getpwall()}
    return "postgres" if "postgres" in names else "nobody"


def _serve(where: Path, directory: Path, user: str | None) -> Iterator[Server]:
    port = _free_port()
    options = ["-h", "127.0.0.1", "-p", str(port), "-k", str(directory), "-F"]
    with (directory / "log").open("wb") as log:
        process = subprocess.Popen(
            [where / "postgres", "-D", directory / "data", *options],
            stdout=log,
            stderr=log,
            user=user,
            cwd=directory,
        )
    try:
        server = Server(port, directory, process)
        _wait_for(server)
        yield server
    finally:
        # At once: its own word for stopping would wait for every client, and nothing is kept.
        process.send_signal(signal.SIGQUIT)
        with suppress(subprocess.TimeoutExpired):
            process.wait(timeout=30)
        process.kill()
        process.wait()


def _wait_for(server: Server) -> None:
    for _ in range(300):
        if server.process.poll() is not None:
            break
        with suppress(psycopg.OperationalError), psycopg.connect(server._address("postgres")):
            return
        time.sleep(0.1)
    pytest.fail((server.directory / "log").read_text(encoding="utf-8", errors="replace"))


def _free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        return int(taken.getsockname()[1])
