"""The contract of saved plans, with a key for sales: on the small catalog, where one plan is saved already.

Each bound of each field is tried too where the environment has `WHOLE_CONTRACT`.
"""

from __future__ import annotations

from typing import Any

import schemathesis
from fastapi.testclient import TestClient
from hypothesis import seed, settings

from tests.contract.keeping import PLANS, QUIET, WHOLE, follow_links, leave_out_boundaries, validate_response
from tests.contract.small import small_key
from tests.contract.whole import small_whole_app

APP = small_whole_app()
BIKE, PART = "bittern-2019-plain", "curlew-slim"
KEY = small_key("sales")

with TestClient(APP, headers=KEY) as client:
    question = {"bike": BIKE, "visits": [{"on": "2026-05-01"}], "wants": [{"any_of": [PART]}]}
    body = {**question, "rider": {"name": "Ingunn"}}
    assert client.post("/v1/plans", json=body, headers={"Idempotency-Key": "first"}).json()["saved"]

SCHEMA = schemathesis.openapi.from_asgi("/v1/openapi.json", APP).include(path_regex=PLANS)
SCHEMA.config.update(headers=KEY)
if not WHOLE:
    leave_out_boundaries(SCHEMA)


@SCHEMA.parametrize()
@seed(20_260_505)
@settings(max_examples=8, deadline=None, database=None, suppress_health_check=QUIET)
def test_every_operation_on_plans_keeps_its_contract(case: Any) -> None:
    validate_response(case, case.call())


def test_following_the_declared_links_keeps_the_contract_of_plans() -> None:
    follow_links(SCHEMA, examples=12, steps=6)
