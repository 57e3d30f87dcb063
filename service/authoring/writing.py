"""Writing files of a catalog so that each is there whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Mapping
from pathlib import Path


def write_text(path: Path, text: str) -> None:
    """Write a text in UTF-8; whoever reads the file meanwhile sees all of the old text or all of the new.

    Raises:
        OSError: The directory cannot be written to, or the disk is full; the file is as it was.
    """
    write_texts({path: text})


def write_texts(texts: Mapping[Path, str]) -> None:
    """Write several texts. All are laid ready before the first file changes, so that a full disk changes none.

    Raises:
        OSError: A directory cannot be written to, or the disk is full.
    """
    ready: dict[Path, Path] = {}
    try:
        for path, text in texts.items():
            ready[path] = _beside(path, text)
        for path, new in ready.items():
            new.replace(path)
    finally:
        for new in ready.values():
            new.unlink(missing_ok=True)


def _beside(path: Path, text: str) -> Path:
    """Write a text to a new file beside the one that it will replace."""
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".new")
    new = Path(name)
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        new.chmod(path.stat().st_mode if path.exists() else 0o644)
    except BaseException:
        new.unlink(missing_ok=True)
        raise
    return new
