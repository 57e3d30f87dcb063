"""What may happen to several workers of one command: one is killed, all are started anew, another release is activated.

Part of `python -m tests.faults.service`.
"""

from __future__ import annotations

import http.client
import json
import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from collections.abc import Set as AbstractSet
from contextlib import suppress
from pathlib import Path

from tests.faults.served import DIRECTORY, Served
from tests.faults.shop import Service, Shop, serving, sqlite_shop, visitors
from tests.postgres import postgresql
from tests.releasing.shelves import FIRST, SECOND

WORKERS = 3
PATIENCE_S = 120.0


class Crew(Served):
    """Several workers of one command."""

    def start(self) -> None:
        command = [sys.executable, "-c", "from service.cli import main; main()", "serve"]
        command += ["--workers", str(WORKERS), "--catalog", str(DIRECTORY)]
        environ = {**os.environ, "LOOMWAY_PORT": str(self.port)}
        self.process = subprocess.Popen(command, stderr=subprocess.PIPE, text=True, env=environ)
        assert self.process.stderr is not None
        found = re.search(r":(\d+)/", self.process.stderr.readline())
        assert found is not None
        self.port = int(found[1])
        self.wait_for_all()

    def workers(self) -> set[int]:
        """Give the processes that answer."""
        assert self.process is not None
        return {pid for pid in children(self.process.pid) if b"spawn_main" in command_of(pid)}

    def wait_for_all(self, but: AbstractSet[int] = frozenset()) -> None:
        """Wait until there are as many workers as were asked for, none of which is one of these, and each shows figures."""
        until = time.monotonic() + PATIENCE_S
        while time.monotonic() < until:
            if len(self.workers() - but) == WORKERS and len(self.workers()) == WORKERS and self._all_show():
                return
            time.sleep(0.2)
        raise AssertionError(f"{len(self.workers())} workers, of which {len(self.workers() & but)} are old")

    def _all_show(self) -> bool:
        connection = http.client.HTTPConnection("127.0.0.1", self.port, timeout=30)
        try:
            connection.request("GET", "/metrics")
            page = connection.getresponse().read().decode()
        except (OSError, http.client.HTTPException):
            return False
        finally:
            connection.close()
        return len(set(re.findall(r'loomway_release_number\{.*worker="(\d+)"', page))) == WORKERS


def children(parent: int) -> list[int]:
    """Give the processes that a process has started."""
    return [int(x) for x in Path(f"/proc/{parent}/task/{parent}/children").read_text().split()]


def command_of(pid: int) -> bytes:
    """Give what a process runs; nothing if it is gone."""
    with suppress(OSError):
        return Path(f"/proc/{pid}/cmdline").read_bytes()
    return b""


def one_killed(crew: Crew) -> None:
    """Kill one worker after the other: the rest answers, and each is replaced."""
    for _ in range(WORKERS):
        time.sleep(0.5)
        victim = min(crew.workers())
        os.kill(victim, signal.SIGKILL)
        crew.wait_for_all(but={victim})


def started_anew(crew: Crew) -> None:
    """Start each worker anew: everybody is answered all the while."""
    assert crew.process is not None
    unanswered, old = crew.unanswered, crew.workers()
    crew.process.send_signal(signal.SIGHUP)
    crew.wait_for_all(but=old)
    assert crew.unanswered == unanswered, f"{crew.unanswered - unanswered} were not answered"


def all_stopped(crew: Crew) -> None:
    """Stop the command: all its workers stop, and it starts again on the same port."""
    assert crew.process is not None
    old = crew.workers()
    crew.stop()
    assert not any(b"spawn_main" in command_of(pid) for pid in old)
    crew.start()


def command_killed(crew: Crew) -> None:
    """Kill the command itself: no worker is left behind, which nobody would watch over."""
    assert crew.process is not None
    old = crew.workers()
    crew.process.kill()
    crew.process.wait(30)
    until = time.monotonic() + PATIENCE_S
    while any(b"spawn_main" in command_of(pid) for pid in old):
        assert time.monotonic() < until, "workers are left behind"
        time.sleep(0.1)
    crew.start()


def crew_faults() -> dict[str, Callable[[Crew], None]]:
    """Give the faults by name."""
    return {
        "one of several workers killed": one_killed,
        "workers started anew": started_anew,
        "all workers stopped": all_stopped,
        "command of workers killed": command_killed,
    }


def activations(shop: Shop, count: int = 10) -> dict[str, int]:
    """Activate releases under load: whoever has seen a later one is answered from no older, whichever worker answers."""
    names = {shop.serve(archive) for archive in (FIRST, SECOND)}
    older = 0
    with serving(shop.address, workers=WORKERS) as service, visitors(shop, [service]) as seen:
        for number in range(count):
            key = {"Authorization": f"Bearer {shop.key}"}
            _, headers, _ = service.ask("POST", "/v1/rollbacks", {"why": f"number {number}"}, key)
            older += sum(_is_older(service, int(headers["loomway-release-number"])) for _ in range(20))
        if service.serves() not in names:
            older += 1
    told = seen.told()
    wrong = told["wrong"] + told["mixed_release"] + older
    return {"asked": seen.asked, "wrong": wrong, "unrecovered": told["failed"]}


def _is_older(service: Service, number: int) -> bool:
    headers = {"Loomway-Min-Release": str(number)}
    status, told, _ = service.ask("GET", "/v1/catalog", headers=headers)
    return status != http.client.OK or int(told["loomway-release-number"]) < number


def activated_everywhere() -> dict[str, dict[str, int]]:
    """Activate on both kinds of database."""
    with sqlite_shop() as shop:
        found = {"activations among workers, SQLite": activations(shop)}
    with postgresql() as server:
        shop = Shop(server.new_database())
        found["activations among workers, PostgreSQL"] = activations(shop)
        shop.database.close()
    return found


if __name__ == "__main__":
    print(json.dumps(activated_everywhere()))
