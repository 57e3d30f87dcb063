"""`loomway cases`: do the catalog's own cases still come out as they should?"""

from __future__ import annotations

from rules.cases import run_cases
from service.serving import Serving
from service.terminal.output import hint, say, say_json, stderr


def ask_cases(serving: Serving, *, as_json: bool) -> int:
    """Ask every case and tell those that come out otherwise.

    Returns: The exit code: 1 if a case fails, or if there is none.
    """
    if stderr().is_terminal:
        hint(f"asking {len(serving.catalog.cases)} cases; a big catalog takes a minute")
    results = run_cases(serving.engine)
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
