"""Does the process run, and can it answer?"""

from __future__ import annotations

from fastapi import APIRouter, Response

from service.dependencies import ServingDep
from service.representation import reply
from service.shapes.health import HealthTold

router = APIRouter(tags=["Run the service"])


@router.get(
    "/health/live", operation_id="check_alive", summary="Does the process run?", response_model=HealthTold
)
def check_alive(serving: ServingDep) -> Response:
    """Restart the process when this fails."""
    return reply(HealthTold.from_domain("alive", serving))


@router.get("/health/ready", operation_id="check_ready", summary="Can it answer?", response_model=HealthTold)
def check_ready(serving: ServingDep) -> Response:
    """Send it questions once this answers: a release is read and compiled."""
    return reply(HealthTold.from_domain("ready", serving))
