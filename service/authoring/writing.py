"""Writing a file of a catalog so that it is there whole, or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path


def write_text(path: Path, text: str) -> None:
    """Write a text in UTF-8; whoever reads the file meanwhile sees all of the old text or all of the new.

    Raises:
        OSError: The directory cannot be written to, or the disk is full; the file is as it was.
    """
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".new")
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(beside).chmod(path.stat().st_mode if path.exists() else 0o644)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
