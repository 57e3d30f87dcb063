"""The desk over saved plans: kept, found, tried out, planned anew, moved, shown to a rider."""

from __future__ import annotations

import secrets
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Request, Response

from rules.answer import NoPlan
from rules.errors import MalformedQuestion
from service.dependencies import ServingDep, TodayDep
from service.desk import words
from service.desk.asked import address, asked_of, question_in, written
from service.desk.brief import other_bikes
from service.desk.kept import STATES, tell_done, tell_listed, tell_standing
from service.desk.measured import measured_by
from service.desk.pages import page
from service.desk.routing import PageRoute, fields_of
from service.desk.session import OUR_FORM, Form
from service.desk.sheets import BY_ID, PAPERS
from service.desk.telling import tell_no_plan, tell_wants
from service.desk.trying import movable, read_change
from service.desk.view import PlanView
from service.plans.asking import answer_to, left_to_ask
from service.plans.saved import NewRider, SavedPlan
from service.routes.desk_counter import Desk, DeskDep, revision_in, saved_values, to
from service.routes.desk_papers import answer_with, offer_in, visit_in
from service.store.creation import creation_of

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ASKED = ("on", "fitter", "budget", "whole", "part")
"""Fields with which something else is tried."""

LISTED = 100
"""Plans on one page; who looks for an older one looks for the rider."""

SHARED_DAYS = 30
"""How long a rider's link works; long enough to think it over."""


# --- looking --------------------------------------------------------------------------------------------------------


@router.get("/plans")
def list_plans(desk: DeskDep) -> Response:
    """List the plans, the last that was changed first."""
    return _listed(desk, "")


@router.post("/plans/find")
def find_plans(desk: DeskDep, fields: Form) -> Response:
    """List the plans of a rider, by a piece of the name or the contact; in a form, since addresses are written to logs."""
    return _listed(desk, fields.short("text"))


def _listed(desk: Desk, text: str) -> Response:
    found = desk.keeper.listed(LISTED, text=text or None)
    told = {"plans": tell_listed(found, desk.serving.catalog), "text": text, "most": LISTED}
    return page("plans.html", {**desk.every, **told})


@router.post("/plans")
def keep_plan(desk: DeskDep, fields: Form) -> Response:
    """Save the plan that answers a question."""
    question = measured_by(question_in(fields, desk.serving.catalog.shop), fields)
    rider = fields.one("rider")
    made = desk.keeper.make(
        question,
        desk.serving,
        desk.today,
        creation_of("desk", fields.one("word") or secrets.token_urlsafe(), written(question)),
        rider=_rider(rider, fields.one("contact")) if rider else None,
    )
    if isinstance(made, NoPlan):
        raise MalformedQuestion("q", "there is no plan for this", "go back and change it")
    return to(f"/desk/plans/{made.plan.id}")


def _rider(name: str, contact: str) -> NewRider:
    return NewRider(name=name[:200], contact=contact[:200])


@router.get("/plans/{plan}")
def showsaved_values(desk: DeskDep, plan: str) -> Response:
    """Show a saved plan: how it stands, what was done, what is to come."""
    saved = desk.keeper.get(plan)
    view = desk.view(saved)
    left = left_to_ask(saved, desk.today)
    standing = desk.standing(saved)
    told = {
        **saved_values(desk, saved, view),
        "standing": tell_standing(standing, view, desk.serving.catalog),
        **asked_of(left, view.shop),
        "movable": movable(saved, view, fields_of(desk.request)),
        "others": other_bikes(desk.serving.catalog, saved.bike),
        "shares": [x for x in desk.keeper.sharing.of(plan) if x.works(desk.keeper.now())],
        "body": "plan_body.html",
        "plan": view,
        "links": _links(saved, view),
        "keep": (),
        "word": secrets.token_urlsafe(12),
    }
    return page("saved.html", told)


def _links(saved: SavedPlan, view: PlanView) -> dict[str, object]:
    here = f"/desk/plans/{saved.id}/papers"
    papers = [
        {
            "visit": words.day(visit.on),
            "name": one.name,
            "page": f"{here}/{one.id}?visit={visit.number}",
            "pdf": f"{here}/{one.id}?visit={visit.number}&as=pdf",
        }
        for visit in view.visits
        for one in PAPERS
    ]
    return {
        "why": address("/desk/why", saved.question),
        "ways": address("/desk/ways", saved.question),
        "quote": f"{here}/quote",
        # What was done is not offered again.
        "hidden": [("visit", str(saved.to_come[0][0]))] if saved.to_come else [],
        "papers": papers,
    }


@router.get("/plans/{plan}/papers/{name}")
def show_saved_paper(desk: DeskDep, plan: str, name: str) -> Response:
    """Show a paper of a saved plan."""
    if name not in BY_ID:
        raise HTTPException(404)
    fields, saved = fields_of(desk.request), desk.keeper.get(plan)
    view = desk.view(saved)
    offer = offer_in(fields, view.shop, desk.today, saved.rider.name if saved.rider else "")
    told = {
        "back": f"/desk/plans/{plan}",
        "pdf": f"?{urlencode([*((x, y) for x, y in fields.pairs if x != 'as'), ('as', 'pdf')])}",
    }
    return answer_with(
        BY_ID[name], view, visit_in(view, fields), offer, told, as_pdf=fields.one("as") == "pdf"
    )


# --- trying and changing --------------------------------------------------------------------------------------------


@router.get("/plans/{plan}/try")
def try_plan(desk: DeskDep, plan: str) -> Response:
    """Show what other days and amounts would come to; nothing is saved."""
    fields, saved = fields_of(desk.request), desk.keeper.get(plan)
    then = desk.view(saved)
    question = left_to_ask(saved, desk.today, read_change(fields, then))
    answer = answer_to(saved, question, desk.serving, cured=True).plan
    told = {
        **saved_values(desk, saved, then),
        "standing": None,
        **asked_of(question, then.shop),
        "movable": movable(saved, then, fields),
        "keep": tuple((x, y) for x, y in fields.pairs if x in ASKED or x.startswith("year:")),
    }
    if isinstance(answer, NoPlan):
        catalog = desk.serving.catalog_of(question.found)
        return page("saved.html", {**told, "body": "no_plan.html", "told": tell_no_plan(answer, catalog)})
    view = PlanView(question, answer, desk.serving.engine.figures(question, answer), desk.serving)
    return page("saved.html", {**told, "body": "plan_body.html", "plan": view, "links": None})


@router.post("/plans/{plan}/anew")
def plan_anew(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Plan what is left anew, and keep that."""
    saved = desk.keeper.get(plan)
    change = read_change(fields, desk.view(saved))
    made = desk.keeper.plan_anew(plan, revision_in(fields), desk.serving, desk.today, change)
    if isinstance(made, NoPlan):
        raise MalformedQuestion("on", "there is no plan for this", "go back and change it")
    return to(f"/desk/plans/{plan}")


@router.post("/plans/{plan}/next-bike")
def next_bike(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Plan for the rider's next bike with the parts of this one, and put this plan away."""
    bike = fields.one("bike")
    creation = creation_of("desk", f"{plan} {fields.one('revision')} {bike}", bike)
    made = desk.keeper.move(plan, revision_in(fields), bike, desk.serving, desk.today, creation)
    if isinstance(made, NoPlan):
        raise MalformedQuestion(
            "bike", made.ask or "there is no way to the same on that bike", "take another bike"
        )
    return to(f"/desk/plans/{made.plan.id}")


@router.post("/plans/{plan}/copy")
def copy_plan(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Save a plan again as it was planned, for another rider or another try."""
    made = desk.keeper.duplicate(
        plan, creation_of("desk", fields.one("word") or secrets.token_urlsafe(), plan)
    )
    return to(f"/desk/plans/{made.plan.id}")


@router.post("/plans/{plan}/rider")
def name_rider(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Write down whose plan it is."""
    desk.keeper.name_rider(plan, revision_in(fields), _rider(fields.one("rider"), fields.one("contact")))
    return to(f"/desk/plans/{plan}")


@router.post("/plans/{plan}/away")
def put_away(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Put a plan away, or take it up again."""
    desk.keeper.archive(plan, revision_in(fields), away=fields.one("away") == "yes")
    return to(f"/desk/plans/{plan}")


@router.post("/plans/{plan}/link", dependencies=[OUR_FORM])
def make_link(desk: DeskDep, plan: str) -> Response:
    """Make a link for the rider, and show it this once."""
    share, secret = desk.keeper.sharing.make(plan, SHARED_DAYS)
    where = f"{desk.request.url.scheme}://{desk.request.url.netloc}/desk/shared/{secret}"
    told = {**desk.every, "plan_at": f"/desk/plans/{plan}", "where": where, "ends": share.ends_at.date()}
    return page("link.html", told)


@router.post("/plans/{plan}/link/end")
def end_link(desk: DeskDep, plan: str, fields: Form) -> Response:
    """End a link at once."""
    desk.keeper.sharing.withdraw(plan, fields.one("share"))
    return to(f"/desk/plans/{plan}")


@router.get("/shared/{secret}")
def show_shared(request: Request, secret: str, serving: ServingDep, today: TodayDep) -> Response:
    """Show a plan to the rider who was given the link: to read, and nothing else."""
    desk = Desk(request=request, by="", serving=serving, today=today)
    _, saved = desk.keeper.sharing.read(secret)
    view = desk.view(saved)
    told = {
        **desk.every,
        "keeps_plans": False,
        "bike": view.bike,
        "state": STATES[saved.state],
        "wanted": tell_wants(saved.question, view.catalog),
        "done": tell_done(saved, view),
        "plan": view,
        "links": None,
    }
    return page("shared.html", told)
