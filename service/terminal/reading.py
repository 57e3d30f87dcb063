"""Reading the catalog that a command asks."""

from __future__ import annotations

from pathlib import Path

from rules.load import load_catalog
from rules.release import Release
from service.serving import Serving
from service.settings import DEMO_CATALOG


def open_catalog(directory: Path | None) -> Serving:
    """Read a catalog, the demo catalog if none is named.

    Raises:
        CatalogRefused: It has errors.
    """
    return Serving.of(Release.of(load_catalog(directory or DEMO_CATALOG)))
