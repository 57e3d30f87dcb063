"""Time from a changed budget to the new plan on the page: `python -m tests.browser.replanning`.

Asked of the demo case with the most that is wanted over the most visits. Each change is another amount, so no plan is remembered;
the share is what the engine takes of the time in which the rider waits. Seconds are this machine's: compare shares.
"""

from __future__ import annotations

import json
import statistics
import time
from typing import Any

from rules.cases import path_question
from rules.catalog.case import PathCase
from rules.question import PathQuestion
from service.desk.asked import address
from tests.browser.shop import browser, served
from tests.contract.whole import demo_app, demo_release

CHANGES = 5


def largest() -> tuple[str, PathQuestion]:
    """Give the demo's largest question that has a path."""
    cases = [x for x in demo_release().catalog.cases if isinstance(x, PathCase) and x.outcome == "path"]
    case = max(cases, key=lambda x: (len(x.wanted) * len(x.stages), x.name))
    return case.name, path_question(case)


def main() -> None:
    name, question = largest()
    app = demo_app()
    planned = _timed(app.state.serving.engine)
    whole: list[float] = []
    shares: list[float] = []
    with served(app) as root, browser() as started:
        page = started.new_context().new_page()
        page.goto(root + address("/desk/plan", question))
        field = page.locator("input[name=budget]").first
        for change in range(CHANGES):
            planned.clear()
            before = time.perf_counter()
            field.fill(str(90_000 + change))
            field.press("Tab")
            page.wait_for_function(
                "amount => new URL(location).searchParams.get('budget') === amount", arg=str(90_000 + change)
            )
            whole.append(time.perf_counter() - before)
            shares.append(sum(planned) / whole[-1])
    told = {
        "case": name,
        "wants": len(question.wants),
        "visits": len(question.stages),
        "median_s": round(statistics.median(whole), 3),
        "planning_share": round(statistics.median(shares), 2),
    }
    print(json.dumps(told))


def _timed(engine: Any) -> list[float]:
    """Note how long the engine plans."""
    found: list[float] = []
    ask = engine.cured

    def timed(question: PathQuestion) -> object:
        before = time.perf_counter()
        answer = ask(question)
        found.append(time.perf_counter() - before)
        return answer

    engine.cured = timed
    return found


if __name__ == "__main__":
    main()
