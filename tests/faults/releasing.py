"""Injects every fault on the way to a release, while visitors ask, and tells how long it took to recover.

Run as `python -m tests.faults.releasing`. Prints a line of JSON for each fault, and at last the sum: answers that failed, mixed
two releases, or were wrong, and faults after which the shop was not what it should be.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from service.app import create_app
from service.releasing.files import lay_out, read_archive, read_directory, write_archive
from service.settings import Settings
from tests.contract.small import DIRECTORY
from tests.faults.killed import STEPS
from tests.faults.shop import Count, Service, Shop, serving, sqlite_shop, visitors
from tests.releasing.shelves import BIKE, FIRST, PART, PLACE, large, manager, priced, release_of

Fault = Callable[["Scene"], str]

COMMAND = (
    "from service.releasing.manager import Manager; Manager._weigh = lambda *_: None;"
    "from service.cli import main; main()"
)
"""The command, with every change of an answer wanted: that is not what is under test."""


class Scene:
    """A shop with a service, a directory to release from, and what is served before the next fault."""

    def __init__(self, shop: Shop, service: Service, directory: Path, asked: argparse.Namespace) -> None:
        self.shop, self.service, self.directory, self.asked = shop, service, directory, asked
        self.amount = 5_000
        self.seconds = 0.0

    def change(self) -> str:
        """Change a price in the directory, and give the id of what it would release as."""
        self.amount += 1
        text = (DIRECTORY / "prices" / "2026.yaml").read_text(encoding="utf-8")
        text = text.replace("curlew-slim: 9900", f"curlew-slim: {self.amount}")
        (self.directory / "prices" / "2026.yaml").write_text(text, encoding="utf-8")
        return self.shop.learn(write_archive(read_directory(self.directory)))

    def served(self) -> str | None:
        """What the database says is served."""
        return manager(self.shop.database).history.standing().release

    def command(self, *arguments: str, **environ: str) -> subprocess.CompletedProcess[str]:
        """Run the command on the shop's database."""
        return subprocess.run(
            [sys.executable, *arguments],
            env={**os.environ, "LOOMWAY_DATABASE_URL": self.shop.address, **environ},
            capture_output=True,
            text=True,
            check=False,
        )

    def release(self, *more: str) -> subprocess.CompletedProcess[str]:
        """Release the directory by command."""
        return self.command("-c", COMMAND, *self.arguments(), *more)

    def arguments(self) -> tuple[str, ...]:
        """Release the directory, as somebody."""
        return ("release", str(self.directory), "--why", "tests", "--by", "somebody")

    def recover(self, wanted: str) -> str:
        """Release once more, and wait until it is served; give what is wrong, if anything."""
        began = time.monotonic()
        done = self.release()
        if done.returncode:
            return f"releasing again failed: {done.stderr[-300:]}"
        self.service.wait_until_it_serves(wanted)
        self.seconds = time.monotonic() - began
        return "" if self.served() == wanted else "the database says otherwise"


def killed_at(step: str) -> Fault:
    """Kill a release at one step."""

    def fault(scene: Scene) -> str:
        before, wanted = scene.served(), scene.change()
        done = scene.command("-m", "tests.faults.killed", str(scene.directory), step)
        if done.returncode != -9:
            return f"it was not killed: {done.stderr[-300:]}"
        should = wanted if step == "served" else before
        if scene.served() != should:
            return f"{scene.served()} is served"
        return scene.recover(wanted)

    return fault


def disk_full(scene: Scene) -> str:
    """Leave the disk no room for working files, then none for the database."""
    before, wanted = scene.served(), scene.change()
    # A file may not grow beyond this, as on a full disk: what comes is another error, handled alike.
    limited = (
        "import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN);"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (100, 100));"
    )
    done = scene.command("-c", limited + COMMAND, *scene.arguments())
    if done.returncode != 4 or scene.served() != before:
        return f"exit code {done.returncode}: {done.stderr[-300:]}"
    full = (
        "from sqlalchemy import event; from service.store import database as d; old = d._set_up_sqlite;"
        "d._set_up_sqlite = lambda c, r: (old(c, r), c.execute('PRAGMA max_page_count=1'))[0];"
    )
    done = scene.command("-c", full + COMMAND, *scene.arguments())
    if done.returncode != 4 or "room" not in done.stderr or scene.served() != before:
        return f"exit code {done.returncode}: {done.stderr[-300:]}"
    return scene.recover(wanted)


def directory_changed(scene: Scene) -> str:
    """Write to the directory without a pause while it is read."""
    before, wanted = scene.served(), scene.change()
    until, file = threading.Event(), scene.directory / "parts" / "curlew.yaml"
    whole = file.read_bytes()

    def write() -> None:
        number = 0
        while not until.is_set():
            number += 1
            file.write_bytes(whole[: len(whole) // 2] if number % 2 else whole + b"# %d\n" % number)

    thread = threading.Thread(target=write)
    thread.start()
    done = scene.release()
    until.set()
    thread.join()
    file.write_bytes(whole)
    if done.returncode == 0 and scene.served() == wanted:
        return ""
    if done.returncode not in (1, 2) or scene.served() != before:
        return f"exit code {done.returncode}: {done.stderr[-300:]}"
    return scene.recover(wanted)


def file_removed(scene: Scene) -> str:
    """Remove a file while the directory is read, and put it back again and again."""
    before, wanted = scene.served(), scene.change()
    until, file = threading.Event(), scene.directory / "rules" / "geometry.yaml"
    whole = file.read_bytes()

    def remove() -> None:
        while not until.is_set():
            file.unlink(missing_ok=True)
            file.write_bytes(whole)

    thread = threading.Thread(target=remove)
    thread.start()
    done = scene.release()
    until.set()
    thread.join()
    file.write_bytes(whole)
    if scene.served() not in (before, wanted):
        return f"{scene.served()} is served"
    if done.returncode not in (0, 1, 2):
        return f"exit code {done.returncode}: {done.stderr[-300:]}"
    return scene.recover(wanted)


def two_managers(scene: Scene) -> str:
    """Let two managers release different catalogs at the same moment."""
    scene.change()
    first = scene.directory
    with tempfile.TemporaryDirectory() as other:
        shutil.copytree(first, other, dirs_exist_ok=True)
        scene.directory = Path(other)
        wanted = {scene.shop.learn(write_archive(read_directory(first))), scene.change()}
        done: list[subprocess.CompletedProcess[str]] = []

        def release(directory: Path) -> None:
            arguments = [str(directory) if x == str(scene.directory) else x for x in scene.arguments()]
            done.append(scene.command("-c", COMMAND, *arguments))

        threads = [threading.Thread(target=release, args=[x]) for x in (first, Path(other))]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        scene.directory = first
    if scene.served() not in wanted or any(x.returncode not in (0, 4) for x in done):
        return f"{[x.returncode for x in done]}, {scene.served()} is served: {done[0].stderr[-200:]}"
    began = time.monotonic()
    scene.service.wait_until_it_serves(scene.served() or "")
    scene.seconds = time.monotonic() - began
    return ""


def truncated_upload(scene: Scene) -> str:
    """Send half an archive and hang up; then half an archive that says it is whole."""
    before, wanted = scene.served(), scene.change()
    archive = write_archive(read_directory(scene.directory))
    head = (
        f"POST /v1/releases HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer {scene.shop.key}\r\n"
        f"Content-Type: application/zip\r\nContent-Length: {len(archive)}\r\n\r\n"
    )
    with socket.create_connection(("127.0.0.1", scene.service.port)) as connection:
        connection.sendall(head.encode() + archive[: len(archive) // 2])
    headers = {"Authorization": f"Bearer {scene.shop.key}", "Content-Type": "application/zip"}
    half = archive[: len(archive) // 2]
    status, _, told = scene.service.ask("POST", "/v1/releases", half, headers)
    if (status, told["outcome"]) != (200, "refused") or scene.served() != before:
        return f"{status}: {told}"
    if manager(scene.shop.database).releases.find(wanted):
        return "half an archive is kept"
    return scene.recover(wanted)


def database_gone(scene: Scene) -> str:
    """Take the database away for a while, and put it back with another release served."""
    wanted = scene.change()
    file = Path(scene.shop.address.removeprefix("sqlite:///"))
    away = file.with_name("away")
    away.mkdir()
    parts = [x for x in file.parent.glob(f"{file.name}*") if x.is_file()]
    for part in parts:
        part.rename(away / part.name)
    time.sleep(scene.asked.gone)
    ready = scene.service.ask("GET", "/health/ready")
    refused = scene.release()
    for part in parts:
        if (away / part.name).exists():
            (away / part.name).rename(part)
    away.rmdir()
    if ready[0] != 200 or ready[2]["database"]["is_reached"] or refused.returncode != 4:
        return f"{ready}, exit code {refused.returncode}: {refused.stderr[-200:]}"
    return scene.recover(wanted)


def year_end(scene: Scene) -> str:
    """Ask over midnight at the end of a year in which a price list ends."""
    files = dict(read_archive(FIRST))
    text = files["prices/2026.yaml"].decode()
    files["prices/2026.yaml"] = text.replace("last: 2027-12-31", "last: 2026-12-31").encode()
    later = text.replace('"2026"', '"2027"').replace("first: 2026-01-01", "first: 2027-01-01")
    files["prices/2027.yaml"] = later.replace("curlew-slim: 9900", "curlew-slim: 10900").encode()
    clock: list[date] = []
    app = create_app(release_of(write_archive(files)), Settings(), today=lambda: clock[-1])
    answers = []
    with TestClient(app) as client:
        for day in (date(2026, 12, 31), date(2026, 12, 31), date(2027, 1, 1), date(2027, 1, 1)):
            clock.append(day)
            answers.append(client.get(f"/v1/fitment/{BIKE}/{PART}?place={PLACE}"))
    totals = [x.json()["answer"]["total_minor"] for x in answers]
    tags = [x.headers["etag"] for x in answers]
    is_right = totals == [totals[0]] * 2 + [totals[0] + 1_000] * 2 and tags[1] != tags[2]
    return "" if is_right else f"totals {totals}"


def large_release(scene: Scene) -> str:
    """Release a catalog of many megabytes, and the small one again."""
    small = scene.served() or ""
    with tempfile.TemporaryDirectory() as directory:
        lay_out(large(scene.asked.megabytes), Path(directory))
        first, scene.directory = scene.directory, Path(directory)
        wanted = scene.shop.learn(write_archive(read_directory(scene.directory)))
        wrong = scene.recover(wanted)
        scene.directory = first
    if wrong:
        return wrong
    print(json.dumps({"note": f"{scene.asked.megabytes} MB released and served in {scene.seconds:.1f} s"}))
    began = time.monotonic()
    manager(scene.shop.database).roll_back("small again", small)
    scene.service.wait_until_it_serves(small)
    scene.seconds = time.monotonic() - began
    return ""


FAULTS: dict[str, Fault] = {
    **{f"killed: {step}": killed_at(step) for step in STEPS},
    "disk full": disk_full,
    "directory changed while read": directory_changed,
    "file removed while read": file_removed,
    "two managers at once": two_managers,
    "truncated upload": truncated_upload,
    "database gone": database_gone,
    "date over a year's edge": year_end,
    "large release": large_release,
}


@contextmanager
def scenes(asked: argparse.Namespace) -> Iterator[Scene]:
    """Open a shop with a service."""
    with sqlite_shop() as shop, tempfile.TemporaryDirectory(prefix="loomway-catalog-") as directory:
        shutil.copytree(DIRECTORY, directory, dirs_exist_ok=True)
        shop.serve(priced(5_000))
        with serving(shop.address) as service:
            yield Scene(shop, service, Path(directory), asked)


def inject(scene: Scene, name: str) -> dict[str, Any]:
    """Inject one fault, and tell what came of it."""
    scene.seconds = 0.0
    with visitors(scene.shop, [scene.service], each=1) as count:
        try:
            wrong = FAULTS[name](scene)
        except (OSError, ValueError, LookupError) as error:
            wrong = repr(error)
    told = {"fault": name, "recovered_in_s": round(scene.seconds, 2), "wrong_state": wrong, **count.told()}
    print(json.dumps(told), flush=True)
    return told


def main() -> None:
    """Read the arguments, inject each fault, and print the sum."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--megabytes", type=int, default=50, help="size of the large release")
    arguments.add_argument("--gone", type=float, default=60, help="how long the database is gone [s]")
    arguments.add_argument("--only", choices=[*FAULTS], action="append")
    asked = arguments.parse_args()
    with scenes(asked) as scene:
        told = [inject(scene, name) for name in asked.only or FAULTS]
    names = [*Count().told()]
    total = {name: sum(one[name] for one in told) for name in names}
    total["unrecovered"] = sum(bool(one["wrong_state"]) for one in told)
    print(json.dumps(total))
    sys.exit(1 if any(total.values()) else 0)


if __name__ == "__main__":
    main()
