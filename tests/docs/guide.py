"""Runs the guide in docs/authoring.md as a newcomer would: writes its files, edits them as it says, and types its commands.

`python -m tests.docs.guide` puts what the commands print now into the page. Look at the difference before you keep it.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "authoring.md"
CATALOG = re.compile(r"^```yaml\n# file: (\S+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
STEP = re.compile(r"^```(console|diff|file (\S+))\n(.*?)^```$", re.MULTILINE | re.DOTALL)
CHANGE = re.compile(r"c-[0-9a-f]{16}")


@dataclass(frozen=True)
class Typed:
    """A command of the guide, what it shows, and what was printed."""

    command: str
    shown: str
    printed: str


def rehearse(page: str, directory: Path) -> Iterator[Typed]:
    """Follow the guide in an empty directory, as it is printed."""
    for name, text in CATALOG.findall(page):
        _write(directory / "shop" / name, text)
    for step in STEP.finditer(page):
        yield from _take(step, directory)


def _take(step: re.Match[str], directory: Path) -> Iterator[Typed]:
    kind, name, text = step.groups()
    if kind == "diff":
        _edit(directory, text)
    elif name:
        _write(directory / name, text)
    else:
        yield from _type(text, directory)


def _write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text, encoding="utf-8")


def _edit(directory: Path, text: str) -> None:
    """Make the edit that a difference shows: `--- FILE`, then lines that go and lines that come."""
    head, *lines = text.splitlines()
    path = directory / head.removeprefix("--- ")
    old = "".join(f"{line[1:]}\n" for line in lines if line[0] in "- ")
    new = "".join(f"{line[1:]}\n" for line in lines if line[0] in "+ ")
    before = path.read_text(encoding="utf-8")
    assert before.count(old) == 1, f"{path.name} has not exactly once:\n{old}"
    path.write_text(before.replace(old, new), encoding="utf-8")


def _type(text: str, directory: Path) -> Iterator[Typed]:
    for block in re.split(r"^\$ ", text, flags=re.MULTILINE)[1:]:
        command, _, shown = block.partition("\n")
        yield Typed(command, shown, _printed(command, directory))


def _printed(command: str, directory: Path) -> str:
    program, *words = shlex.split(command)
    if program == "cp":
        shutil.copytree(directory / words[-2], directory / words[-1])
        return ""
    assert program == "loomway"
    settings = {name: value for name, value in os.environ.items() if not name.startswith("LOOMWAY_")}
    done = subprocess.run(
        [_loomway(), *words],
        cwd=directory,
        env=settings | {"LOOMWAY_DATABASE_URL": "sqlite:///loomway.db"},
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )
    printed = done.stdout.replace(f"{directory}/", "")
    return printed if done.returncode == 0 else f"{printed}exit code {done.returncode}\n"


def _loomway() -> str:
    return str(Path(sys.executable).with_name("loomway"))


def told_anew(page: str, directory: Path) -> str:
    """Give the page with what its commands print now; changes to acknowledge are named as they are named now."""
    for name, text in CATALOG.findall(page):
        _write(directory / "shop" / name, text)
    at = 0
    while (step := STEP.search(page, at)) is not None:
        typed = list(_take(step, directory))
        new = "".join(f"$ {one.command}\n{one.printed}" for one in typed)
        rest = page[step.end(3) :]
        for one in typed:
            for old, now in zip(CHANGE.findall(one.shown), CHANGE.findall(one.printed), strict=False):
                rest = rest.replace(old, now)
        page = page[: step.start(3)] + (new or step[3]) + rest
        at = step.start(3) + len(new or step[3])
    return page


def main() -> None:
    with tempfile.TemporaryDirectory() as directory:
        page = told_anew(PAGE.read_text(encoding="utf-8"), Path(directory))
    PAGE.write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
