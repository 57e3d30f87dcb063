"""How long a path takes through the API: the demo catalog's own path cases, each asked first on a fresh application."""

from __future__ import annotations

from time import perf_counter

from fastapi.testclient import TestClient

from rules.build import STOCK
from rules.cases import path_question
from rules.catalog.case import PathCase
from service.plans.form import question_asked
from tests.contract.whole import demo_app, demo_key, demo_release


def api_seconds() -> list[float]:
    """Give the wall-clock seconds of each plan, of cases on bikes as they left the works; in one process, without a network."""
    questions = [path_question(case) for case in demo_release().catalog.cases if isinstance(case, PathCase)]
    taken: list[float] = []
    with TestClient(demo_app(), headers=demo_key("sales")) as client:
        for question in questions:
            if question.found == STOCK:
                body = question_asked(question)
                began = perf_counter()
                answer = client.post("/v1/paths", json=body)
                taken.append(perf_counter() - began)
                answer.raise_for_status()
    return taken
