"""What clients were promised is kept: the released document against the code's."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from typing import Any

import pytest

from tests.contract.released import RELEASED, breaks, contract

FIT = "/v1/fitment/{bike}/{part}"
CART = "/v1/cart-checks"


@pytest.fixture(scope="module")
def now() -> dict[str, Any]:
    return contract()


def test_the_code_keeps_the_released_contract(now: dict[str, Any]) -> None:
    released = json.loads(RELEASED.read_text(encoding="utf-8"))
    assert breaks(released, now) == [], "run python -m tests.contract.released only if clients may break"


def _forget_path(document: dict[str, Any]) -> None:
    del document["paths"][FIT]


def _rename(document: dict[str, Any]) -> None:
    document["paths"][FIT]["get"]["operationId"] = "other"


def _forget_parameter(document: dict[str, Any]) -> None:
    listed = document["paths"][FIT]["get"]["parameters"]
    listed[:] = [x for x in listed if x["name"] != "fitter"]


def _demand_parameter(document: dict[str, Any]) -> None:
    document["paths"][FIT]["get"]["parameters"].append(
        {"in": "query", "name": "market", "required": True, "schema": {"type": "string"}}
    )


def _forget_choice(document: dict[str, Any]) -> None:
    schema = document["components"]["schemas"]["CartAsked"]["properties"]["fitter"]
    schema["enum"] = ["shop"]


def _tell_more_choices(document: dict[str, Any]) -> None:
    document["components"]["schemas"]["Verdict"]["enum"].append("perhaps")


def _forget_field(document: dict[str, Any]) -> None:
    del document["components"]["schemas"]["FitTold"]["properties"]["findings"]


def _retype_field(document: dict[str, Any]) -> None:
    document["components"]["schemas"]["FitTold"]["properties"]["rewires"] = {"type": "string"}


def _demand_field(document: dict[str, Any]) -> None:
    document["components"]["schemas"]["CartAsked"]["required"].append("on")


def _leave_field_out(document: dict[str, Any]) -> None:
    document["components"]["schemas"]["FitTold"]["required"].remove("verdict")


@pytest.mark.parametrize(
    ("change", "place"),
    [
        (_forget_path, f"GET {FIT}: is gone"),
        (_rename, f"GET {FIT}: is called other"),
        (_forget_parameter, "parameter fitter is gone"),
        (_demand_parameter, "parameter market is new and required"),
        (_forget_choice, "['home'] cannot be asked any more"),
        (_tell_more_choices, "['perhaps'] may be told now"),
        (_forget_field, "findings: is gone"),
        (_retype_field, "rewires: type is string now, was boolean"),
        (_demand_field, "on: is required now"),
        (_leave_field_out, "verdict: may be missing now"),
    ],
)
def test_each_way_to_break_a_client_is_seen(
    now: dict[str, Any], change: Callable[[dict[str, Any]], None], place: str
) -> None:
    changed = copy.deepcopy(now)
    change(changed)
    assert any(place in found for found in breaks(now, changed))


def test_additions_break_nobody(now: dict[str, Any]) -> None:
    more = copy.deepcopy(now)
    more["paths"]["/v1/more"] = copy.deepcopy(more["paths"]["/v1/catalog"])
    more["components"]["schemas"]["FitTold"]["properties"]["colour"] = {"type": "string"}
    more["components"]["schemas"]["CartAsked"]["properties"]["note"] = {"type": "string"}
    more["components"]["schemas"]["CartAsked"]["properties"]["fitter"]["enum"].append("club")
    assert breaks(now, more) == []
    assert breaks(now, now) == []
