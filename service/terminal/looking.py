"""Asking all cases of a catalog once, in several processes, before it is looked at what they exercise or notice."""

from __future__ import annotations

import multiprocessing
import os
from dataclasses import dataclass
from multiprocessing.pool import Pool

from rules.strength.looks import Look, Looker
from rules.strength.workshop import Workshop
from service.terminal.output import hint, stderr


@dataclass(slots=True)
class _Shared:
    """What the processes have in common: it is there before they part."""

    looker: Looker | None = None


_shared = _Shared()


def open_pool(jobs: int | None) -> Pool:
    """Start processes that know what this one knows."""
    return multiprocessing.get_context("fork").Pool(jobs or os.cpu_count() or 1)


def look_at_cases(workshop: Workshop, jobs: int | None) -> dict[str, Look] | None:
    """Ask every case once; None, with the reason told, if one of them fails or there is none."""
    cases = workshop.catalog.cases
    _shared.looker = Looker(workshop.catalog)
    if stderr().is_terminal:
        hint(f"asking {len(cases)} cases once")
    with open_pool(jobs) as pool:
        looks = dict(zip((case.name for case in cases), pool.imap(_look, range(len(cases))), strict=True))
    failing = sorted(name for name, one in looks.items() if one.differences)
    if failing or not looks:
        hint(*failing, "these cases fail as it is, or there is none; `loomway cases` says more")
        return None
    return looks


def _look(index: int) -> Look:
    assert _shared.looker is not None  # noqa: S101 - set before the processes part
    return _shared.looker.look(_shared.looker.catalog.cases[index])
