"""What all tests have in common."""

from __future__ import annotations

import gc


def pytest_collection_finish() -> None:
    """Keep what was collected, a million objects, out of every later search for garbage."""
    gc.collect()
    gc.freeze()
