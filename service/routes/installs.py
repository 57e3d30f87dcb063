"""What stands about visits that were done: their test sheets against the limits, and what is under warranty."""

from __future__ import annotations

from typing import Annotated

from fastapi import APIRouter, Query, Response

from service.links import Responses, join, link
from service.problems import KEY_PROBLEMS, MALFORMED_REQUEST, STORE_PROBLEMS, UNKNOWN_PLAN, declared
from service.representation import reply
from service.routes.counter import CounterDep, PlanId
from service.shapes.calculations import cautions_told
from service.shapes.installs import SheetsTold, WarrantyAsked, WarrantyTold, sheet_judged
from service.shapes.plans import figures_then
from service.shapes.release import ReleaseNamed

router = APIRouter(tags=["Saved plans"])

_LOOKS: Responses = join(
    declared(*KEY_PROBLEMS, *STORE_PROBLEMS, MALFORMED_REQUEST, UNKNOWN_PLAN),
    link("show_plan", plan="$request.path.plan"),
)


@router.get(
    "/v1/plans/{plan}/test-sheets",
    operation_id="judge_test_sheets",
    summary="The test sheets of a plan against their limits",
    response_model=SheetsTold,
    responses=_LOOKS,
)
def judge_test_sheets(counter: CounterDep, plan: PlanId) -> Response:
    """Each against the plan under which its visit was done, and its release; without it, against common practice alone."""
    saved, sheets = counter.keeper.get(plan), []
    for number, done in enumerate(saved.done, 1):
        if done.sheet is not None:
            planned = counter.keeper.planned_for(plan, number)
            pinned = counter.pinned(planned)
            figures = figures_then(planned, pinned)[done.visit - 1]
            sheets.append(sheet_judged(done, number, figures, (pinned or counter.serving).catalog))
    told = SheetsTold(
        release=ReleaseNamed.from_domain(counter.serving),
        plan=plan,
        sheets=tuple(sheets),
        without=tuple(number for number, done in enumerate(saved.done, 1) if done.sheet is None),
        cautions=cautions_told(("wiring", "fuse", "battery", "tone", "hearing", "controls")),
    )
    return reply(told)


@router.get(
    "/v1/plans/{plan}/warranty",
    operation_id="show_warranty",
    summary="What stands about each part that was fitted, for a claim",
    response_model=WarrantyTold,
    responses=_LOOKS,
)
def show_warranty(
    counter: CounterDep,
    plan: PlanId,
    asked: Annotated[WarrantyAsked, Query()],
) -> Response:
    """Term, serial number, fitter, preset, and changes since. In term is a reason to inspect, never an automatic refusal."""
    saved = counter.keeper.get(plan)
    catalog = (counter.pinned(saved) or counter.serving).catalog_of(saved.question.found)
    return reply(WarrantyTold.from_domain(saved, asked.on or counter.today, catalog, counter.serving))
