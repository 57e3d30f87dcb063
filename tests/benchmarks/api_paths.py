"""How long a path takes through the API: the demo catalog's own path cases, each asked first on a fresh application."""

from __future__ import annotations

from time import perf_counter
from typing import Any

from fastapi.testclient import TestClient

from rules.build import STOCK
from rules.cases import path_question
from rules.catalog.case import PathCase
from rules.question import PathQuestion, Want
from tests.contract.whole import demo_app, demo_key, demo_release


def api_seconds() -> list[float]:
    """Give the wall-clock seconds of each plan, of cases on bikes as they left the works; in one process, without a network."""
    questions = [path_question(case) for case in demo_release().catalog.cases if isinstance(case, PathCase)]
    taken: list[float] = []
    with TestClient(demo_app(), headers=demo_key("sales")) as client:
        for question in questions:
            if question.found == STOCK:
                body = _body(question)
                began = perf_counter()
                answer = client.post("/v1/paths", json=body)
                taken.append(perf_counter() - began)
                answer.raise_for_status()
    return taken


def _body(question: PathQuestion) -> dict[str, Any]:
    """Write a question as a client does."""
    return {
        "bike": question.bike,
        "visits": [
            {"on": str(stage.on), "fitter": stage.fitter, "budget_minor": stage.budget}
            for stage in question.stages
        ],
        "wants": [_want(want) for want in question.wants],
        "budget_minor": question.budget,
        "year_budgets": [
            {"year": year, "budget_minor": most} for year, most in question.year_budgets.items()
        ],
        "resale_counts": question.resale_counts,
        "excluded": sorted(question.excluded),
        "locked": [{"part": x.part, "place": x.place} for x in sorted(question.locked)],
        "allowed_rewiring": sorted(question.allowed_rewiring),
        "colour": question.colour,
        "most_added_kg": question.most_added_kg,
    }


def _want(want: Want) -> dict[str, Any]:
    return {
        "any_of": list(want.parts),
        "place": want.place,
        "zone": want.zone,
        "kind": want.kind,
        "functions": list(want.functions),
        "lines": list(want.lines),
        "colour": want.colour,
        "most_kg": want.most_kg,
        "least_power_w": want.least_w,
        "by_visit": want.by,
    }
