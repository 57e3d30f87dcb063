"""Reads a catalog directory: the only module of the engine that touches files."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path

from rules.assemble import assemble
from rules.catalog.catalog import Catalog
from rules.diagnostics import Code, Collector, Diagnostic, Span, one_line, quote
from rules.draft import Draft, add_file
from rules.marks import MARK, report_marks
from rules.names import Names
from rules.yaml_nodes import Node
from rules.yaml_raw import split_lines
from rules.yaml_reader import decode, read_yaml

MISSING_DIRECTORY = Code(
    name="missing-directory",
    about="The catalog is not a directory.",
    why="there is nothing to read",
    hint="check the path",
    example="loomway check catalog_dmeo",
)
MISSING_FILE = Code(
    name="missing-file",
    about="One of the files that every catalog has is missing: shop.yaml, places.yaml, connectors.yaml.",
    why="all other files build on it",
    hint="add the file; docs/authoring.md shows a small one",
    example="a catalog without places.yaml",
)
EMPTY_DIRECTORY = Code(
    name="empty-directory",
    about="A catalog without bikes or without parts.",
    why="nothing could be asked of it",
    hint="add a file; docs/authoring.md shows a small one",
    example="an empty bikes/",
)
UNEXPECTED_FILE = Code(
    name="unexpected-file",
    about="A file or folder that is no part of a catalog. README.md, *.html and dot-files are passed over.",
    why="it would be ignored, and what it says would be lost",
    hint="give it the ending .yaml, move it to its folder, or take it out of the catalog",
    example="parts/speakers.yml",
)
LINK_OUTSIDE = Code(
    name="link-outside",
    about="A link that leads out of the catalog directory.",
    why="the catalog would change with a file that is no part of it",
    hint="put a copy of the file here",
    example="parts/speakers.yaml -> ../elsewhere.yaml",
)
UNREADABLE_FILE = Code(
    name="unreadable-file",
    about="A file that cannot be read: a broken link, or no permission.",
    why="what it says would be missing without a word",
    hint="check the link and the permissions",
    example="parts/speakers.yaml -> gone.yaml",
)
LARGE_FILE = Code(
    name="large-file",
    about="A file larger than 8 MB.",
    why="no one edits such a file by hand, and reading it would hold up everyone else",
    hint="split it",
    example="a parts file of 50 MB",
)

CODES = (
    MISSING_DIRECTORY,
    MISSING_FILE,
    EMPTY_DIRECTORY,
    UNEXPECTED_FILE,
    LINK_OUTSIDE,
    UNREADABLE_FILE,
    LARGE_FILE,
)

LARGEST_FILE = 8_000_000
"""Bytes of one file. A parts file of five thousand parts has about five million."""

_FILES = ("shop", "places", "connectors")
_FOLDERS = ("bikes", "parts", "rules", "prices", "cases")
_NEEDED_FOLDERS = ("bikes", "parts")
_READ_QUICKLY = frozenset(("parts", "rules", "prices", "cases"))
"""Folders whose entries nobody asks the place of, where nothing is at fault. A bike's facts are told with theirs."""


class CatalogRefused(ValueError):  # noqa: N818 - "refused" is the word for it, as for a build.
    """A catalog has errors. `diagnostics` holds all of them, and the warnings."""

    def __init__(self, diagnostics: tuple[Diagnostic, ...]) -> None:
        super().__init__(diagnostics)
        self.diagnostics = diagnostics

    def __str__(self) -> str:
        return "\n".join(one_line(diagnostic) for diagnostic in self.diagnostics)


def load_catalog(directory: Path, shown_as: str | None = None) -> Catalog:
    """Read a catalog directory.

    Args:
        directory: Where the catalog is.
        shown_as: How its path begins in diagnostics; left out, the directory's own name.

    Raises:
        CatalogRefused: With every fault of the catalog, if it has an error. Warnings alone pass.
    """
    catalog, diagnostics = check_catalog(directory, shown_as)
    if catalog is None:
        raise CatalogRefused(diagnostics)
    return catalog


def check_catalog(
    directory: Path, shown_as: str | None = None, *, survey_on: date | None = None
) -> tuple[Catalog | None, tuple[Diagnostic, ...]]:
    """Read a catalog directory and give every fault in one run, sorted by file and line.

    Args:
        directory: Where the catalog is.
        shown_as: As in `load_catalog`.
        survey_on: The day for the survey, which looks at every bike and part of a sound catalog. Left out, there is
            none: it takes many times as long as reading.

    Returns: The catalog, or None if there are errors; and all diagnostics.
    """
    prefix = directory.name if shown_as is None else shown_as
    shelf = _Shelf(directory, f"{prefix}/" if prefix else "")
    with _without_garbage_collection():
        draft = shelf.read()
        catalog = assemble(draft, shelf.collector)
    if catalog is not None and survey_on is not None:
        # The survey asks the engine, and importing that takes longer than reading most catalogs.
        from rules.survey.look import survey  # noqa: PLC0415 - see above.

        survey(catalog, draft, shelf.collector, survey_on)
    return catalog, shelf.collector.sorted(shelf.texts)


@dataclass(frozen=True, slots=True)
class Document:
    """One file as it is written. `folder` says what it is, as in `rules.draft.add_file`."""

    folder: str
    file: str
    node: Node


def read_documents(directory: Path) -> tuple[Document, ...]:
    """Read the files of a sound catalog without making a catalog of them, in the order in which they are always read.

    Raises:
        CatalogRefused: A file cannot be read.
    """
    shelf = _Shelf(directory, f"{directory.name}/")
    listed = shelf.listing() if directory.is_dir() else []
    read = [(folder, shelf.name(path), shelf.document(path)) for folder, path in listed]
    if not read or shelf.collector.has_errors:
        raise CatalogRefused(shelf.collector.sorted(shelf.texts))
    return tuple(Document(folder, file, node) for folder, file, node in read if node is not None)


@contextmanager
def _without_garbage_collection() -> Iterator[None]:
    # Reading makes many small objects that all stay; looking through them for garbage doubles the time.
    was_enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_enabled:
            gc.enable()


@dataclass(slots=True)
class _Shelf:
    """The files of one directory, and the draft that is read from them."""

    root: Path
    prefix: str
    collector: Collector = field(default_factory=Collector)
    texts: dict[str, list[str]] = field(default_factory=dict)
    draft: Draft = field(default_factory=lambda: Draft(names=Names()))

    def read(self) -> Draft:
        if not self.root.is_dir():
            self.report(MISSING_DIRECTORY, self.prefix.rstrip("/") or ".", "this is not a directory")
            return self.draft
        listing = self.listing()
        self.report_missing({folder for folder, _ in listing})
        for folder, path in listing:
            self.read_file(folder, path)
        return self.draft

    def listing(self) -> list[tuple[str, Path]]:
        """Catalog files with what they are, sorted by name; everything else is reported."""
        return [*self.top_level(), *(pair for folder in _FOLDERS for pair in self.folder(folder))]

    def report_missing(self, found: set[str]) -> None:
        """Report what every catalog has and this one has not."""
        for name in _FILES:
            if name not in found:
                self.report(MISSING_FILE, f"{self.prefix}{name}.yaml", "this file is missing")
                self.lose(name)
        for name in _NEEDED_FOLDERS:
            if name not in found and name not in self.draft.broken:
                self.report(EMPTY_DIRECTORY, f"{self.prefix}{name}", f"the catalog has no {name}")
                self.lose(name)

    def lose(self, folder: str) -> None:
        """Note that something of a folder is not read, so that ids which it may define are not unknown."""
        self.draft.names.leave_open(folder)
        self.draft.broken.add(folder)

    def top_level(self) -> Iterator[tuple[str, Path]]:
        for path in _visible(self.root):
            if path.name in _FOLDERS and path.is_dir():
                continue
            if path.suffix == ".yaml" and path.stem in _FILES:
                yield path.stem, path
            else:
                self.report_unexpected(path)

    def folder(self, name: str) -> Iterator[tuple[str, Path]]:
        folder = self.root / name
        if not folder.is_dir():
            return
        if not self.is_inside(folder):
            self.lose(name)
            return
        for path in _visible(folder):
            if path.suffix == ".yaml" and not path.is_dir():
                yield name, path
            else:
                self.report_unexpected(path)
                self.lose(name)

    def read_file(self, folder: str, path: Path) -> None:
        before = self.collector.count
        node = self.document(path, quickly=folder in _READ_QUICKLY)
        if node is None:
            self.lose(folder)
            return
        self.draft.names.add_file(folder, node, self.collector)
        add_file(self.draft, folder, node, self.collector)
        if self.collector.count > before:
            self.draft.broken.add(folder)

    def document(self, path: Path, *, quickly: bool = False) -> Node | None:
        file = self.name(path)
        data = self.content(path) if self.is_inside(path) else None
        text = None if data is None else decode(data, file, self.collector)
        if text is None:
            return None
        self.texts[file] = split_lines(text)
        node = read_yaml(text, file, self.collector, quickly=quickly)
        if node is not None and MARK in text:
            report_marks(node, self.collector)
        return node

    def content(self, path: Path) -> bytes | None:
        if not path.is_file():
            self.report(UNREADABLE_FILE, self.name(path), "this file cannot be read")
            return None
        try:
            with path.open("rb") as file:
                data = file.read(LARGEST_FILE + 1)
        except OSError:
            self.report(UNREADABLE_FILE, self.name(path), "this file cannot be read")
            return None
        if len(data) > LARGEST_FILE:
            self.report(LARGE_FILE, self.name(path), f"the file has more than {LARGEST_FILE:,} bytes")
            return None
        return data

    def is_inside(self, path: Path) -> bool:
        """Tell whether a path stays in the directory once its links are followed; report it if not."""
        try:
            inside = path.resolve().is_relative_to(self.root.resolve())
        except (OSError, RuntimeError):
            self.report(UNREADABLE_FILE, self.name(path), "this link leads nowhere")
            return False
        if not inside:
            self.report(LINK_OUTSIDE, self.name(path), "this link leads out of the catalog")
        return inside

    def report_unexpected(self, path: Path) -> None:
        message = f"{quote(_readable(path.name))} is no part of a catalog"
        self.report(UNEXPECTED_FILE, self.name(path), message)

    def report(self, code: Code, file: str, message: str) -> None:
        self.collector.report(code, Span(file, 1, 1, 2), message)

    def name(self, path: Path) -> str:
        """A file's name as diagnostics show it: the same on every machine."""
        return self.prefix + _readable(path.relative_to(self.root).as_posix())


def _visible(folder: Path) -> list[Path]:
    return [path for path in sorted(folder.iterdir(), key=lambda path: path.name) if not _is_ignored(path)]


def _is_ignored(path: Path) -> bool:
    return path.name.startswith(".") or path.name == "README.md" or path.suffix == ".html"


def _readable(name: str) -> str:
    # A file name may hold bytes that are no text, or line ends that would break a diagnostic in two.
    return "".join(letter if letter.isprintable() else "?" for letter in name)
