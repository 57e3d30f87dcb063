"""The contract with the real engine, on the small catalog and on the demo.

Each operation is asked a few times. Where the environment has `WHOLE_CONTRACT` it is asked five times as often, and each bound of
each field is tried, and not only of what may be answered before the framework sees it.
"""

from __future__ import annotations

from typing import Any

import pytest
import schemathesis
from hypothesis import Phase, seed, settings

from tests.contract.keeping import (
    CALCULATION,
    PLANS,
    QUIET,
    WHOLE,
    follow_links,
    leave_out_boundaries,
    validate_response,
)
from tests.contract.small import small_key
from tests.contract.whole import demo_app, demo_key, small_whole_app


def on_the_small_catalog() -> Any:
    """Give the whole contract, with a configuration of its own."""
    schema = schemathesis.openapi.from_asgi("/v1/openapi.json", small_whole_app())
    schema.config.update(headers=small_key())
    return schema


SMALL = on_the_small_catalog().exclude(path_regex=f"{CALCULATION}|{PLANS}")
# What is known is answered here before any framework has looked at the question, so each bound is always tried.
QUICK = on_the_small_catalog().include(path_regex=r"^/v1/(fitment/.*|cart-checks)$")
CALCULATIONS = on_the_small_catalog().include(path_regex=CALCULATION)
TIMES = 5 if WHOLE else 1
# A page of what fits takes seconds on the demo while nothing is known yet, so the small catalog's do in the suite.
PAGES = r"^/v1/(bikes/\{bike\}/parts|parts/\{part\}/bikes)$"
DEMO = schemathesis.openapi.from_asgi("/v1/openapi.json", demo_app()).exclude(
    path_regex="|".join([CALCULATION, PLANS, *([] if WHOLE else [PAGES])])
)
DEMO.config.update(headers=demo_key(), request_timeout=120)
if not WHOLE:
    for one in (DEMO, CALCULATIONS, SMALL):
        leave_out_boundaries(one)
SOME = settings(max_examples=3 * TIMES, deadline=None, database=None, suppress_health_check=QUIET)
FEW = settings(
    max_examples=TIMES,
    deadline=None,
    database=None,
    phases=[Phase.explicit, Phase.generate],
    suppress_health_check=QUIET,
)


@SMALL.parametrize()
@seed(20_260_502)
@SOME
def test_every_operation_keeps_its_contract_on_a_small_catalog(case: Any) -> None:
    validate_response(case, case.call())


@QUICK.parametrize()
@seed(20_260_502)
@SOME
def test_what_may_be_answered_early_keeps_its_contract_at_every_bound(case: Any) -> None:
    validate_response(case, case.call())


@CALCULATIONS.parametrize()
@seed(20_260_504)
@settings(max_examples=5, deadline=None, database=None, suppress_health_check=QUIET)
def test_every_calculation_keeps_its_contract(case: Any) -> None:
    validate_response(case, case.call())


@DEMO.parametrize()
@seed(20_260_503)
@FEW
def test_every_operation_keeps_its_contract_on_the_demo(case: Any) -> None:
    validate_response(case, case.call())


@pytest.mark.parametrize(("schema", "examples", "steps"), [(SMALL, 2 * TIMES, 6), (DEMO, TIMES, 4)])
def test_following_the_declared_links_keeps_the_contract(schema: Any, examples: int, steps: int) -> None:
    follow_links(schema, examples, steps)
