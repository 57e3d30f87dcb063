"""Does the process run, and can it answer?"""

from __future__ import annotations

from fastapi import APIRouter, Request, Response

from service.dependencies import ServingDep
from service.observing.figures import page
from service.representation import reply
from service.shapes.health import HealthTold, ReadyTold

router = APIRouter(tags=["Run the service"])


@router.get(
    "/health/live", operation_id="check_alive", summary="Does the process run?", response_model=HealthTold
)
def check_alive(serving: ServingDep) -> Response:
    """Restart the process when this fails."""
    return reply(HealthTold.from_domain(serving))


@router.get("/health/ready", operation_id="check_ready", summary="Can it answer?", response_model=ReadyTold)
def check_ready(request: Request, serving: ServingDep) -> Response:
    """Send it questions once this answers.

    It says which release serves, which was refused and why, and answers on while the database is gone.
    """
    office = request.app.state.office
    return reply(ReadyTold.from_domain(serving, office.followed() if office else None))


@router.get("/metrics", include_in_schema=False)
def show_figures(request: Request) -> Response:
    """Figures of this process, or of all workers of its command, for Prometheus.

    They are for whoever runs the service, so the document leaves them out.
    """
    content = page(request.app.state.told)
    return Response(
        content, media_type="text/plain; version=0.0.4; charset=utf-8", headers={"Cache-Control": "no-store"}
    )
