"""What it means that an answer keeps the contract, and how much is tried."""

from __future__ import annotations

import os
from typing import Any

import schemathesis
from hypothesis import HealthCheck, Phase, settings
from hypothesis.stateful import run_state_machine_as_test
from schemathesis.specs.openapi.checks import ignored_auth, positive_data_acceptance

from service.problems import KEY_USED, MALFORMED_QUESTION, PLAN_CHANGED, REVISION_NEEDED
from service.routes.releases import KINDS

CALCULATION = r"^/v1/calculations/.+"
"""Addresses of calculations: many, all made alike, and the same on every catalog, so they are tried once and for all."""

PLANS = r"^/v1/(plans|plan-searches|shared-plans|riders|erased-riders)"
"""Addresses that need a key for sales, which opens nothing else."""

REFUSES = {kind.code for kind in (MALFORMED_QUESTION, KEY_USED, PLAN_CHANGED, REVISION_NEEDED)}
"""Codes of what a schema cannot say: visits out of order, a revision that is not the plan's, a key used before."""

WHOLE = bool(os.environ.get("WHOLE_CONTRACT"))
"""Whether everything is tried, which takes many minutes, and not a share of it."""

QUIET = [HealthCheck.too_slow, HealthCheck.filter_too_much, HealthCheck.data_too_large]


# Whatever is drawn for an archive is sent as it is.
schemathesis.serializer.alias(list(KINDS), "application/octet-stream")


def leave_out_boundaries(schema: Any) -> None:
    """Ask drawn questions only, without the thousand that try each bound of each field.

    Those are made anew by every process that collects tests, and there are ten thousand of them.
    """
    schema.config.phases.coverage.enabled = False


def validate_response(case: Any, response: Any, *excluded: Any) -> None:
    contradicts = response.status_code in (412, 422, 428) and response.json()["code"] in REFUSES
    case.validate_response(
        response, excluded_checks=[*excluded, *([positive_data_acceptance] if contradicts else [])]
    )


def query_of(operation: dict[str, Any]) -> dict[str, Any]:
    """Give the query with which a calculation is asked in its example; nothing else must be given one."""
    parameters = operation.get("parameters", []) if "Calculate" in operation.get("tags", ()) else ()
    return {x["name"]: x["example"] for x in parameters if "example" in x}


def follow_links(schema: Any, examples: int, steps: int) -> None:
    """Ask one operation after another, each with what the one before answered."""

    class Following(schema.as_state_machine()):  # type: ignore[misc]
        def validate_response(self, response: Any, case: Any, **_: Any) -> None:
            # The key of these tests is sent in place of any that is drawn, and it is a good one.
            validate_response(case, response, ignored_auth)

    quick = settings(
        max_examples=examples,
        stateful_step_count=steps,
        deadline=None,
        database=None,
        derandomize=True,
        phases=[Phase.generate],
        suppress_health_check=QUIET,
    )
    run_state_machine_as_test(Following, settings=quick)
