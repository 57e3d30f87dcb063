"""Files are written whole or not at all, and a refused catalog is not written to."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from rules.load import CatalogRefused
from service.authoring.new_part import PartAsked, new_part, priced
from service.authoring.proposal import Proposal, neighbours
from service.authoring.writing import write_texts
from service.terminal.mistakes import WrongCommand
from service.terminal.propose import propose
from tests.diagnostics.base import FILES, write
from tests.unit.service.authoring.templates import DAY


@pytest.fixture
def catalog(tmp_path):
    return write(tmp_path / "shop")


def texts(directory: Path) -> dict[str, str]:
    return {
        path.relative_to(directory).as_posix(): path.read_text(encoding="utf-8")
        for path in directory.rglob("*")
        if path.is_file()
    }


def both(catalog: Path) -> list[Proposal]:
    asked = PartAsked(part="tern_new", line="tern", kind="ring", name="New ring")
    return [new_part(catalog, asked, DAY), priced(catalog, neighbours(catalog), "tern_new", 900)]


@pytest.mark.parametrize("at", [1, 2])
def test_a_full_disk_leaves_every_file_as_it_was(catalog, monkeypatch, at):
    proposals, written = both(catalog), []

    def full(handle: int) -> None:
        written.append(handle)
        if len(written) == at:
            raise OSError(28, "no space left on device")

    # The copy that is tried lies elsewhere; only what is written into the catalog is cut short.
    monkeypatch.setattr("service.terminal.propose.tried", lambda *_: (None, ()))
    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(WrongCommand, match="as they were"):
        propose(catalog, *proposals, write=True)
    assert texts(catalog) == FILES


def test_a_change_that_would_not_be_sound_is_not_written(catalog):
    text = FILES["parts/tern.yaml"].replace("slot: ring", "slot: rng")
    with pytest.raises(CatalogRefused, match="unknown-slot"):
        propose(
            catalog, Proposal(name="parts/tern.yaml", before=FILES["parts/tern.yaml"], after=text), write=True
        )
    assert texts(catalog) == FILES


def test_without_being_asked_to_nothing_is_written(catalog):
    propose(catalog, *both(catalog), write=False)
    assert texts(catalog) == FILES


def test_a_file_keeps_its_permissions_and_line_ends(tmp_path):
    path = tmp_path / "a.yaml"
    path.write_bytes(b"a: 1\r\n")
    path.chmod(0o640)
    write_texts({path: "a: 2\r\n"})
    assert path.read_bytes() == b"a: 2\r\n"
    assert path.stat().st_mode & 0o777 == 0o640
