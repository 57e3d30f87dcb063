"""Writes the examples of the OpenAPI document: real answers of the demo catalog, on the demo's day.

Run as `python -m tests.contract.examples` after a change of an answer's shape, or of what is asked here.
"""

from __future__ import annotations

import json
from typing import Any, NamedTuple

from fastapi.testclient import TestClient

from rules.load import load_catalog
from rules.release import Release
from service import story
from service.app import create_app
from service.openapi import EXAMPLES
from service.serving import Serving
from service.settings import DEMO_CATALOG, Settings

BIKE = story.BIKE
PART = "tern-52"


class Example(NamedTuple):
    """One question: the address with its parameters, or the body."""

    operation: str
    path: str
    parameters: dict[str, Any] = {}  # noqa: RUF012 -- nothing changes it
    request: dict[str, Any] | None = None


def questions(release: str) -> list[Example]:
    """Give one question for each operation, with a short answer where there is one."""
    fit = {"bike": BIKE, "part": PART, "place": "rear_pods"}
    return [
        Example("show_catalog", "/v1/catalog"),
        Example("list_bikes", "/v1/bikes", {"family": "gadwall", "model_year": 2020, "limit": 2}),
        Example("show_bike", "/v1/bikes/{bike}", {"bike": BIKE}),
        Example(
            "list_fitting_parts", "/v1/bikes/{bike}/parts", {"bike": BIKE, "kind": "speaker", "limit": 2}
        ),
        Example("list_parts", "/v1/parts", {"kind": "speaker", "limit": 2}),
        Example("show_part", "/v1/parts/{part}", {"part": PART}),
        Example("list_fitting_bikes", "/v1/parts/{part}/bikes", {"part": PART, "limit": 2}),
        Example("check_fit", "/v1/fitment/{bike}/{part}", fit),
        Example(
            "check_pinned_fit",
            "/v1/releases/{release}/fitment/{bike}/{part}/{on}",
            {"release": release, "on": str(story.TODAY), **fit},
        ),
        Example("check_fits", "/v1/fitment-checks", request={"questions": [fit, {**fit, "part": "tern-25"}]}),
        Example(
            "check_cart",
            "/v1/cart-checks",
            request={"bike": BIKE, "parts": [{"part": PART, "place": "rear_pods"}]},
        ),
        Example(
            "plan_path",
            "/v1/paths",
            request={
                "bike": BIKE,
                "visits": [{"on": "2026-05-04", "budget_minor": 60_000}, {"on": "2027-04-05"}],
                "wants": [{"any_of": [PART], "place": "rear_pods"}],
                "locked": [{"part": "skarvane-pod-155", "place": "fairing_pods"}],
            },
        ),
        Example(
            "carry_over",
            "/v1/carry-overs",
            request={
                "bike": BIKE,
                "next_bike": story.NEXT_BIKE,
                "found": {"fitted": [{"part": PART, "place": "rear_pods"}]},
            },
        ),
        Example("check_alive", "/health/live"),
        Example("check_ready", "/health/ready"),
    ]


def write() -> None:
    """Ask every question, and keep what was answered."""
    serving = Serving.of(Release.of(load_catalog(DEMO_CATALOG)))
    app = create_app(serving.release, Settings(), serve=lambda _: serving, today=lambda: story.TODAY)
    with TestClient(app) as client:
        for example in questions(serving.name):
            in_path = {
                name: value for name, value in example.parameters.items() if f"{{{name}}}" in example.path
            }
            query = {name: value for name, value in example.parameters.items() if name not in in_path}
            address = example.path.format(**in_path)
            ask = example.request
            answer = client.get(address, params=query) if ask is None else client.post(address, json=ask)
            answer.raise_for_status()
            told = {"parameters": example.parameters, "request": example.request, "response": answer.json()}
            text = json.dumps(told, indent=1, ensure_ascii=False)
            (EXAMPLES / f"{example.operation}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    write()
