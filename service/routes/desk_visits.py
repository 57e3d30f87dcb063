"""The desk over visits that were done: written down, put right, tested, and looked up when something has failed."""

from __future__ import annotations

from fastapi import APIRouter, Response

from rules.cautions import cautions_of
from rules.done import laid_over
from rules.explain import place_name
from service.desk.kept import tell_claim, tell_judged
from service.desk.pages import page
from service.desk.papers import channels
from service.desk.routing import PageRoute
from service.desk.session import Form
from service.desk.test_form import filled_in, read_sheet
from service.desk.visit_form import BESIDES, form_planned, form_recorded, read_visit
from service.routes.desk_counter import DeskDep, revision_in, saved_values, to

router = APIRouter(route_class=PageRoute, include_in_schema=False)


@router.get("/plans/{plan}/visits/{number}/done")
def ask_done(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was really fitted and paid."""
    saved = desk.keeper.get(plan)
    view = desk.view(saved)
    told = {
        **saved_values(desk, saved, view),
        "title": "What was done at this visit",
        "hint": "It is filled in as planned: change what was otherwise.",
        "action": f"/desk/plans/{plan}/visits/{number}/done",
        "form": form_planned(saved, number, view),
        "besides": range(BESIDES),
        "corrects": False,
    }
    return page("done.html", told)


@router.post("/plans/{plan}/visits/{number}/done")
def take_done(desk: DeskDep, plan: str, number: int, fields: Form) -> Response:
    """Write down what was really fitted and paid."""
    saved = desk.keeper.get(plan)
    done = read_visit(fields, number, desk.view(saved))
    desk.keeper.visit_done(plan, revision_in(fields), done, desk.knowing(saved, done))
    return to(f"/desk/plans/{plan}")


@router.get("/plans/{plan}/done/{number}/correct")
def ask_correction(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was written down wrongly of a visit."""
    saved, planned = desk.keeper.get(plan), desk.keeper.planned_for(plan, number)
    view = desk.view(planned)
    told = {
        **saved_values(desk, saved, view),
        "title": "What was really done",
        "hint": "It is filled in as it was written down: change what was otherwise.",
        "action": f"/desk/plans/{plan}/done/{number}/correct",
        "form": form_recorded(saved, number, planned, view),
        "besides": range(BESIDES),
        "corrects": True,
        "may_be_taken_back": number == len(saved.done),
    }
    return page("done.html", told)


@router.post("/plans/{plan}/done/{number}/correct")
def take_correction(desk: DeskDep, plan: str, number: int, fields: Form) -> Response:
    """Put right what was written down of a visit."""
    saved, planned = desk.keeper.get(plan), desk.keeper.planned_for(plan, number)
    recorded, why = saved.visit_done(number), fields.one("why")[:500]
    if fields.has("never_done"):
        desk.keeper.take_back(plan, revision_in(fields), number, desk.knowing(saved, recorded), why)
        return to(f"/desk/plans/{plan}")
    done = laid_over(read_visit(fields, recorded.visit, desk.view(planned)), recorded)
    desk.keeper.correct(plan, revision_in(fields), number, done, desk.knowing(saved, done), why)
    return to(f"/desk/plans/{plan}")


@router.get("/plans/{plan}/done/{number}/test")
def ask_test(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was measured at the end of a visit."""
    saved = desk.keeper.get(plan)
    # Planned anew since, the plan has other visits: what counts is what was planned when it was done.
    planned = desk.view(desk.keeper.planned_for(plan, number))
    done = saved.done[number - 1]
    visit = planned.all_visits[done.visit - 1]
    told = {
        **saved_values(desk, saved, desk.view(saved)),
        "number": number,
        "visit": visit,
        "sheet": done.sheet,
        "filled": filled_in(done.sheet),
        "judged": tell_judged(done.sheet, visit.figures, planned.catalog) if done.sheet else (),
        "channels": channels(planned, visit),
        "polarity": visit.figures.polarity,
    }
    return page("test.html", told)


@router.post("/plans/{plan}/done/{number}/test")
def take_test(desk: DeskDep, plan: str, number: int, fields: Form) -> Response:
    """Keep a test sheet."""
    before = desk.keeper.get(plan).visit_done(number).sheet
    desk.keeper.tested(plan, revision_in(fields), number, read_sheet(fields, before))
    return to(f"/desk/plans/{plan}")


@router.get("/plans/{plan}/claim")
def show_claim(desk: DeskDep, plan: str) -> Response:
    """Show what counts when something has failed: terms, serials, fitters, presets, and what changed since."""
    saved = desk.keeper.get(plan)
    view = desk.view(saved)
    now = [
        f"{view.catalog.parts[x.part].name} ({place_name(x.place, view.catalog)})"
        for x in view.sorted(saved.found_now.present(view.bench.stock))
    ]
    return page(
        "claim.html",
        {
            **saved_values(desk, saved, view),
            "now": now,
            "parts": tell_claim(saved, view.catalog, desk.today),
            "history": desk.keeper.history(plan),
            "cautions": cautions_of(("estimate", "paid_work")),
        },
    )
