"""A drafted case in a file of cases."""

from __future__ import annotations

from pathlib import Path

from rules.catalog.case import Case
from service.authoring.emit import item
from service.authoring.filler import as_written
from service.authoring.places_of import must_lie_in, new
from service.authoring.proposal import Proposal, neighbours, read_file
from service.authoring.schemas import modeline_beside
from service.authoring.sheet import Sheet


def new_case(directory: Path, case: Case, into: str) -> Proposal:
    """Propose a case at the end of a file, or in a new one.

    Args:
        into: The file in the catalog, such as `cases/drafts.yaml`.

    Raises:
        CannotWrite: The file is no file of cases, or the name is taken.
    """
    must_lie_in(into, "cases")
    catalog = neighbours(directory)
    new(case.name, (one.name for one in (*catalog.cases, *catalog.drafts)), "case")
    written = as_written(case)
    entry = {key: written.pop(key) for key in ("name", "why", "kind")} | written
    before = read_file(directory, into)
    if before is None:
        return Proposal(
            name=into, before=None, after=f"{modeline_beside(directory, into)}cases:\n{item(entry, 2)}"
        )
    return Proposal(name=into, before=before, after=Sheet(before).with_item(("cases",), item(entry)).text)
