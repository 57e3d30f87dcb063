"""Schema files for editors, and the line at the top of a catalog file that names its schema."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from pathlib import Path

from rules.schema import FILES, schema_of
from service.authoring.writing import write_text

MODELINE = "# yaml-language-server: $schema="
"""How editors of YAML are told of a file's schema."""

KEPT = ".schema"
"""The folder in which a catalog keeps its schemas; reading passes it over."""


def write_schemas(into: Path) -> tuple[Path, ...]:
    """Write the schema of each kind of catalog file.

    Returns: The files, in order of name.
    """
    written = []
    for kind in sorted(FILES):
        path = into / f"{kind}.json"
        write_text(path, schema_text(kind))
        written.append(path)
    return tuple(written)


def schema_text(kind: str) -> str:
    """Give the schema of one kind of file as it is written."""
    return json.dumps(schema_of(kind), indent=1, ensure_ascii=False) + "\n"


def mark_files(catalog: Path, schemas: Path) -> tuple[Path, ...]:
    """Name its schema at the top of each file of a catalog; a file that names one already names this one.

    Returns: The files that were changed.
    """
    changed = []
    for kind, path in _files(catalog):
        text = path.read_bytes().decode()
        marked = with_modeline(text, modeline(path, schemas, kind))
        if marked != text:
            write_text(path, marked)
            changed.append(path)
    return tuple(changed)


def modeline(path: Path, schemas: Path, kind: str) -> str:
    """Give the line that names a file's schema, by a path that is good wherever both are moved to."""
    beside = os.path.relpath(schemas / f"{kind}.json", path.parent)
    return f"{MODELINE}{Path(beside).as_posix()}\n"


def modeline_beside(catalog: Path, name: str) -> str:
    """Give the modeline of a new file where the catalog keeps its schemas with it, else nothing."""
    kept = catalog / KEPT
    return modeline(catalog / name, kept, name.partition("/")[0]) if kept.is_dir() else ""


def with_modeline(text: str, line: str) -> str:
    """Give a file's text with the line at its top."""
    if text.startswith(MODELINE):
        text = text.partition("\n")[2]
    return (line.replace("\n", "\r\n") if "\r\n" in text else line) + text


def _files(catalog: Path) -> Iterator[tuple[str, Path]]:
    for kind in FILES:
        top = catalog / f"{kind}.yaml"
        found = [top] if top.is_file() else sorted((catalog / kind).glob("*.yaml"))
        yield from ((kind, path) for path in found)
