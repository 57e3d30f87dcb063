"""Trying templates: with what is marked filled in, on a copy of a catalog."""

from __future__ import annotations

from datetime import date
from pathlib import Path

from rules.catalog.catalog import Catalog
from rules.load import check_catalog, load_catalog
from rules.marks import MARK
from service.authoring.proposal import Proposal, write_all

DAY = date(2026, 6, 1)
ROOT = Path(__file__).parents[4]


def codes(directory: Path) -> list[str]:
    """Give what the checker says of a catalog."""
    return [found.code for found in check_catalog(directory)[1]]


def filled_in(directory: Path, *proposals: Proposal) -> Catalog:
    """Write what is proposed as a person would who replaces each mark, and load the catalog."""
    write_all(directory, *proposals)
    for proposal in proposals:
        path = directory / proposal.name
        path.write_text(path.read_text(encoding="utf-8").replace(MARK, "Noted"), encoding="utf-8")
    return load_catalog(directory)
