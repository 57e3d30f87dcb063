"""Faults of whole files."""

from __future__ import annotations

import shutil
from pathlib import Path

from rules.diagnostics import Span
from tests.diagnostics.fault import Fault

NEW = "parts/gull.yaml"


def _start(file: str) -> Span:
    return Span(file, 1, 1, 2)


def _replace_by_file(directory: Path) -> None:
    shutil.rmtree(directory)
    directory.write_text("no catalog", encoding="utf-8")


def _link_outside(directory: Path) -> None:
    outside = directory.parent / "outside.yaml"
    outside.write_text("line: gull\n", encoding="utf-8")
    (directory / NEW).symlink_to(outside)


def _link_folder_outside(directory: Path) -> None:
    outside = directory.parent / "cases-outside"
    (directory / "cases").rename(outside)
    (directory / "cases").symlink_to(outside)


FAULTS = (
    Fault("missing-directory", "the path leads to a file", act=_replace_by_file, place=_start(".")),
    Fault("missing-file", "no shop", files={"shop.yaml": None}, place=_start("shop.yaml")),
    Fault("missing-file", "no places", files={"places.yaml": None}, place=_start("places.yaml")),
    Fault(
        "empty-directory",
        "no bikes",
        files={"bikes/heron.yaml": None, "cases/fronts.yaml": None},
        place=_start("bikes"),
    ),
    Fault(
        "unexpected-file",
        "the short ending",
        files={"parts/gull.yml": b"line: gull\n"},
        place=_start("parts/gull.yml"),
    ),
    Fault(
        "unexpected-file", "a folder too many", files={"offers/may.yaml": b"x: 1\n"}, place=_start("offers")
    ),
    Fault("link-outside", "a link to a file elsewhere", act=_link_outside, place=_start(NEW)),
    Fault("link-outside", "a link to a folder elsewhere", act=_link_folder_outside, place=_start("cases")),
    Fault(
        "unreadable-file",
        "a link to nothing",
        act=lambda directory: (directory / NEW).symlink_to("gone.yaml"),
        place=_start(NEW),
    ),
    Fault("large-file", "a file of fifty megabytes", files={NEW: b"#" * 50_000_000}, place=_start(NEW)),
    Fault(
        "not-utf-8",
        "an old encoding",
        files={NEW: "line: gull\nname: M\xf6we\n".encode("latin-1")},
        place=Span(NEW, 2, 8, 9),
    ),
    Fault(
        "byte-order-mark",
        "an editor that marks files",
        files={NEW: b"\xef\xbb\xbfline: gull\n"},
        place=_start(NEW),
    ),
    Fault(
        "empty-file",
        "only a comment",
        files={"cases/more.yaml": b"# later\n"},
        place=_start("cases/more.yaml"),
    ),
)
