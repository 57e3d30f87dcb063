"""Writes the examples of the OpenAPI document: real answers of the demo catalog, on the demo's day.

Run as `python -m tests.contract.examples` after a change of an answer's shape, or of what is asked here.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from itertools import count
from typing import Any, NamedTuple
from unittest.mock import patch

from fastapi.testclient import TestClient

from rules.calculations.registry import CALCULATIONS
from rules.load import load_catalog
from rules.release import ENGINE_REVISION, Release
from service import story
from service.app import create_app
from service.openapi import EXAMPLES
from service.releasing.files import read_directory, write_archive
from service.serving import Serving
from service.settings import DEMO_CATALOG, Settings
from service.shapes.calculations import operation_of
from tests.contract.calculation_inputs import inputs_of
from tests.contract.keeping import PLANS
from tests.contract.office import EARLIER, header, office_for

BIKE = story.BIKE
PART = "tern-52"
UPLOAD = "/v1/releases"
HEADERS = ("If-Match", "Idempotency-Key")


ALLOCATION = {
    "sources": [
        {
            "name": "amplifier",
            "caps": True,
            "outputs": [
                {
                    "id": f"pair{pair}_{side}",
                    "rated": [{"ohm": 4, "watts": 60}, {"ohm": 2, "watts": 95}],
                    "min_ohm": 2,
                }
                for pair in (1, 2)
                for side in ("left", "right")
            ],
        }
    ],
    "zones": [
        {"name": "fronts", "impedance_ohm": 4, "rms_w": 75},
        {"name": "rears", "impedance_ohm": 4, "rms_w": 45},
        {"name": "lids", "impedance_ohm": 4, "rms_w": 60},
    ],
    "kept": [{"zone": "fronts", "source": "amplifier", "outputs": ["pair1_left", "pair1_right"]}],
}


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
            "compare_paths",
            "/v1/path-alternatives",
            request={
                "bike": BIKE,
                "visits": [{"on": "2026-05-04", "budget_minor": 60_000}, {"on": "2027-04-05"}],
                "wants": [
                    {"any_of": [PART], "place": "rear_pods"},
                    {"any_of": ["tern-65"], "place": "fairing_pods"},
                ],
            },
        ),
        Example(
            "explain_path",
            "/v1/path-reasons",
            request={
                "bike": BIKE,
                "visits": [{"on": "2026-05-04", "budget_minor": 60_000}, {"on": "2027-04-05"}],
                "wants": [{"any_of": [PART, "tern-65"], "place": "rear_pods"}],
            },
        ),
        Example(
            "propose_systems",
            "/v1/proposals",
            request={
                "bike": BIKE,
                "found": {},
                "visits": [{"on": "2026-05-04", "budget_minor": 20_000}],
                "rides": "town",
                "passenger": "never",
                "listens": ["music"],
                "annoys": ["thin"],
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
        Example(
            "plan_next_bike",
            "/v1/next-bikes",
            request={
                "bike": BIKE,
                "next_bike": story.NEXT_BIKE,
                "visits": [{"on": "2029-04-02"}],
                "found": {
                    "fitted": [{"part": PART, "place": "rear_pods"}],
                },
                "wants": [{"any_of": [PART], "place": "rear_pods"}],
            },
        ),
        Example("allocate_channels", "/v1/calculations/channels", request=ALLOCATION),
        Example(
            "list_changes",
            "/v1/changes",
            {
                "since": f"{EARLIER}.{ENGINE_REVISION}",
                "since_on": "2026-03-02",
                "on": str(story.TODAY),
                "limit": 1,
            },
        ),
        Example("upload_release", UPLOAD, {"why": "2027 prices"}),
        Example("list_releases", "/v1/releases", {"limit": 1}),
        Example("show_release", "/v1/releases/{release}", {"release": release.partition(".")[0]}),
        Example(
            "show_impact",
            "/v1/releases/{release}/impact",
            {"release": release.partition(".")[0], "on": str(story.TODAY), "against": EARLIER},
        ),
        Example("hold_part", "/v1/holds", request={"part": PART, "says": "A batch has loose cones."}),
        Example("list_holds", "/v1/holds"),
        Example("lift_hold", "/v1/lifted-holds", request={"hold": 3, "why": "the batch went back"}),
        Example("roll_back", "/v1/rollbacks", request={"why": "the new prices begin in March"}),
        Example(
            "activate_release",
            "/v1/activations",
            request={"release": release.partition(".")[0], "why": "2027 prices", "instead_of": EARLIER},
        ),
        Example("list_history", "/v1/activations", {"limit": 3}),
        *plans(),
        Example("check_alive", "/health/live"),
        Example("check_ready", "/health/ready"),
    ]


PLAN = f"{1:032x}"
"""Ids and secrets of what is made here are counted, so that the examples stay as they are."""
SEEN = {"plan": PLAN, "If-Match": '"1"'}


def plans() -> list[Example]:
    """Give one question for each operation on saved plans, in the order of a conversation."""
    at = "/v1/plans/{plan}"
    question = {
        "bike": BIKE,
        "visits": [{"on": "2026-05-04", "budget_minor": 60_000}],
        "wants": [{"any_of": [PART], "place": "rear_pods"}],
    }
    rider = {"name": "Ingunn Tangen", "contact": "ingunn@strand.example"}
    key = {"Idempotency-Key": "a word of your own"}
    readings = {"rest_v": 12.7, "idle_v": 13.2, "raised_v": 14.2}
    heard = {"polarity": [{"compare": "rears, left against right", "heard": "right"}]}
    safe = {"steers_freely": True, "lids_close": True}
    sheet = {"on": "2026-05-04", "by": "Odd", "photos": ["2026-118-3"], "signed_by": "Odd"}
    return [
        Example("save_plan", "/v1/plans", key, {**question, "rider": rider, "why": "at the counter"}),
        Example("show_plan", at, {"plan": PLAN}),
        Example("ask_what_if", f"{at}/what-ifs", {"plan": PLAN}, {"fitter": "home"}),
        Example("plan_anew", f"{at}/revisions", SEEN, {"fitter": "home", "why": "fits it himself"}),
        Example(
            "record_visit",
            f"{at}/visits-done",
            {**SEEN, "If-Match": '"2"'},
            {"visit": 1, "on": "2026-05-04", "by": "Odd", "fitter": "home"},
        ),
        Example(
            "record_test_sheet",
            f"{at}/test-sheets",
            {**SEEN, "If-Match": '"3"'},
            {"visit": 1, **sheet, **readings, **heard, **safe, "signed_on": "2026-05-04"},
        ),
        Example("judge_test_sheets", f"{at}/test-sheets", {"plan": PLAN}),
        Example("show_warranty", f"{at}/warranty", {"plan": PLAN, "on": "2027-05-04"}),
        Example(
            "correct_visit",
            f"{at}/visit-corrections",
            {**SEEN, "If-Match": '"4"'},
            {"number": 1, "by": "Jorun", "why": "another hand wrote it down"},
        ),
        Example("name_rider", f"{at}/rider", {**SEEN, "If-Match": '"5"'}, rider),
        Example("list_plan_revisions", f"{at}/revisions", {"plan": PLAN, "limit": 2}),
        Example("show_plan_revision", f"{at}/revisions/{{number}}", {"plan": PLAN, "number": 1}),
        Example("duplicate_plan", f"{at}/duplicates", {"plan": PLAN, "Idempotency-Key": "another"}, {}),
        Example("share_plan", f"{at}/shares", {"plan": PLAN}, {"days": 14}),
        Example("list_shares", f"{at}/shares", {"plan": PLAN}),
        Example("read_shared_plan", "/v1/shared-plans/{secret}", {"secret": "secret-4"}),
        Example("withdraw_share", f"{at}/withdrawn-shares", {"plan": PLAN}, {"share": f"{4:032x}"}),
        Example(
            "move_plan",
            f"{at}/moves",
            {**SEEN, "If-Match": '"6"', "Idempotency-Key": "a third"},
            {"next_bike": story.NEXT_BIKE},
        ),
        Example("archive_plan", f"{at}/archive", {**SEEN, "If-Match": '"7"'}, {"away": False}),
        Example("list_plans", "/v1/plans", {"limit": 1}),
        Example("find_plans", "/v1/plan-searches", request={"text": "tangen"}),
        Example("export_rider", "/v1/riders/{rider}", {"rider": f"{2:032x}"}),
        Example("erase_rider", "/v1/erased-riders", request={"rider": f"{2:032x}"}),
    ]


@contextmanager
def counted() -> Iterator[None]:
    """Count ids and secrets, instead of drawing them."""
    numbers = count(1)
    with (
        patch("secrets.token_hex", lambda _: f"{next(numbers):032x}"),
        patch("secrets.token_urlsafe", lambda _: f"secret-{next(numbers) - 1}"),
    ):
        yield


def calculations() -> list[Example]:
    """Give one question for the list, and one for each calculation."""
    listed = Example("list_calculations", "/v1/calculations")
    asked = (
        Example(operation_of(entry), f"/v1/calculations/{entry.id}", inputs_of(entry))
        for entry in CALCULATIONS.values()
    )
    return [listed, *asked]


def ask(client: TestClient, example: Example) -> dict[str, Any]:
    """Ask one question, and give it with its answer."""
    in_path = {name: value for name, value in example.parameters.items() if f"{{{name}}}" in example.path}
    headers = {name: value for name, value in example.parameters.items() if name in HEADERS}
    query = {name: value for name, value in example.parameters.items() if name not in {*in_path, *headers}}
    address, body = example.path.format(**in_path), example.request
    if re.match(PLANS, example.path):
        headers.update(header(_release(), DEMO_CATALOG, "sales"))
    if example.operation == "upload_release":
        archive, kind = write_archive(read_directory(DEMO_CATALOG)), {"Content-Type": "application/zip"}
        answer = client.post(address, content=archive, params=query, headers=kind)
    else:
        answer = (
            client.get(address, params=query, headers=headers)
            if body is None
            else client.post(address, json=body, headers=headers)
        )
    answer.raise_for_status()
    return {"parameters": example.parameters, "request": body, "response": answer.json()}


def _keep(name: str, told: object) -> None:
    text = json.dumps(told, indent=1, ensure_ascii=False)
    (EXAMPLES / f"{name}.json").write_text(text + "\n", encoding="utf-8")


@cache
def _release() -> Release:
    return Release.of(load_catalog(DEMO_CATALOG))


def write() -> None:
    """Ask every question, and keep what was answered; the calculations, which are many and short, in one file."""
    serving = Serving.of(_release())
    office = office_for(serving.release, DEMO_CATALOG)
    app = create_app(
        serving.release, Settings(), serve=lambda _: serving, today=lambda: story.TODAY, office=office
    )
    with counted(), TestClient(app, headers=header(serving.release, DEMO_CATALOG)) as client:
        for example in questions(serving.name):
            _keep(example.operation, ask(client, example))
        told = {example.operation: ask(client, example) for example in calculations()}
        lines = [f"{json.dumps(name)}: {json.dumps(one, ensure_ascii=False)}" for name, one in told.items()]
        (EXAMPLES / "calculations.json").write_text("{\n" + ",\n".join(lines) + "\n}\n", encoding="utf-8")


if __name__ == "__main__":
    write()
