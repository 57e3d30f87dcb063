"""`loomway cases`: do the catalog's own cases still come out as they should?"""

from __future__ import annotations

from dataclasses import dataclass

from rules.cases import CaseResult, failed_drafts, run_case
from rules.engine import Engine
from service.serving import Serving
from service.terminal.looking import open_pool
from service.terminal.output import hint, say, say_json, stderr

TOGETHER = 4
"""Cases that one process takes at a time: those of one bike share what was worked out for it."""


def ask_cases(serving: Serving, *, jobs: int | None, as_json: bool) -> int:
    """Ask every case and tell those that come out otherwise.

    Returns: The exit code: 1 if a case fails, or if there is none.
    """
    if stderr().is_terminal:
        hint(f"asking {len(serving.catalog.cases)} cases; a big catalog takes a minute")
    results = (*_asked(serving.engine, jobs), *failed_drafts(serving.catalog))
    failed = [result for result in results if not result.passed]
    if as_json:
        told = [{"name": result.name, "differences": list(result.differences)} for result in failed]
        say_json({"passed": len(results) - len(failed), "failed": told})
    else:
        for result in failed:
            hint(f"{result.name}", *(f"  {difference}" for difference in result.differences))
        say(f"{len(results) - len(failed)} of {len(results)} cases come out as they should.")
        hint(
            *(
                []
                if results
                else ["a catalog without cases proves nothing; docs/authoring.md shows how to write one"]
            )
        )
    return 1 if failed or not results else 0


@dataclass(slots=True)
class _Shared:
    """What the processes have in common: it is there before they part."""

    engine: Engine | None = None


_shared = _Shared()


def _asked(engine: Engine, jobs: int | None) -> tuple[CaseResult, ...]:
    """Ask every case; the results come in the order of the catalog, however many processes ask."""
    cases = engine.catalog.cases
    _shared.engine = engine
    by_bike = sorted(range(len(cases)), key=lambda index: (cases[index].bike, index))
    with open_pool(jobs) as pool:
        results = dict(zip(by_bike, pool.imap(_ask, by_bike, chunksize=TOGETHER), strict=True))
    return tuple(results[index] for index in range(len(cases)))


def _ask(index: int) -> CaseResult:
    assert _shared.engine is not None  # noqa: S101 - set before the processes part
    return run_case(_shared.engine, _shared.engine.catalog.cases[index])
