"""The calculators: one address for each entry of the registry, and the allocation of channels."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated

from fastapi import APIRouter, Query, Request, Response

from rules.allocation import allocate
from rules.calculations.calculation import Calculation
from rules.calculations.registry import CALCULATIONS, calculate
from service.dependencies import JSON_BODY, ServingDep
from service.links import join
from service.problems import BODY_PROBLEMS, MALFORMED_QUESTION, MALFORMED_REQUEST, declared
from service.representation import UNCHANGED, reply, represent
from service.shapes.allocation import AllocationAsked, AllocationTold
from service.shapes.base import Asked
from service.shapes.calculations import (
    CalculatedResponse,
    CalculationsResponse,
    asked_of,
    operation_of,
)

router = APIRouter(tags=["Calculate"])


@router.get(
    "/v1/calculations",
    operation_id="list_calculations",
    summary="Every calculation, with its inputs, units, equation and source",
    response_model=CalculationsResponse,
    responses=UNCHANGED,
)
def list_calculations(request: Request, serving: ServingDep) -> Response:
    """All of them, in order of id. `address` is where each is asked."""
    return represent(request, CalculationsResponse.of(serving))


@router.post(
    "/v1/calculations/channels",
    operation_id="allocate_channels",
    summary="The best channels for some zones, or what stands in the way",
    dependencies=[JSON_BODY],
    response_model=AllocationTold,
    responses=declared(*BODY_PROBLEMS, MALFORMED_QUESTION),
)
def allocate_channels(asked: AllocationAsked, serving: ServingDep) -> Response:
    """Fewest zones that share channels first, then fewest that a preset must cap, then the best served."""
    return reply(AllocationTold.of(allocate(*asked.to_domain()), serving))


def _endpoint(entry: Calculation) -> Callable[..., Response]:
    """Make the function that answers for one calculation."""

    def answer(request: Request, asked: Asked, serving: ServingDep) -> Response:
        # What stands at its default was left out: the calculation fills it in itself.
        fields = type(asked).model_fields
        given = {name: value for name, value in asked if value != fields[name].default}
        return represent(request, CalculatedResponse.of(entry, calculate(entry, given), serving))

    answer.__annotations__["asked"] = Annotated[asked_of(entry), Query()]
    answer.__doc__ = f"{entry.equation}\n\nHolds for: {entry.validity}\n\nSource: {entry.source}"
    return answer


for _entry in CALCULATIONS.values():
    router.add_api_route(
        f"/v1/calculations/{_entry.id}",
        _endpoint(_entry),
        methods=["GET"],
        operation_id=operation_of(_entry),
        summary=_entry.title,
        response_model=CalculatedResponse,
        responses=join(UNCHANGED, declared(MALFORMED_REQUEST, MALFORMED_QUESTION)),
    )
