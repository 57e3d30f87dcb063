"""The desk over saved plans: kept, tried out, done, tested, shown to a rider, looked up after years."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Annotated
from urllib.parse import urlencode

from fastapi import APIRouter, Depends, HTTPException, Request, Response
from fastapi.responses import RedirectResponse

from rules.answer import NoPlan
from rules.cautions import cautions_of
from rules.done import laid_over
from rules.errors import MalformedQuestion
from rules.explain import place_name
from service.access import KeyNeeded, office_of
from service.dependencies import ServingDep, TodayDep
from service.desk import words
from service.desk.asked import Fields, address, asked_of, question_in, written
from service.desk.brief import other_bikes
from service.desk.bygone import readable
from service.desk.kept import STATES, tell_claim, tell_done, tell_judged, tell_listed, tell_standing
from service.desk.measured import measured_by, tell_found
from service.desk.pages import HEADERS, page
from service.desk.papers import channels
from service.desk.routing import PageRoute, fields_of
from service.desk.session import COOKIE, OUR_FORM, Form, Seller
from service.desk.sheets import BY_ID, PAPERS
from service.desk.telling import tell_no_plan, tell_wants
from service.desk.test_form import read_sheet
from service.desk.trying import movable, read_change
from service.desk.view import PlanView
from service.desk.visit_form import BESIDES, form_planned, form_recorded, read_visit
from service.plans.asking import answer_to, left_to_ask
from service.plans.saved import NewRider, SavedPlan
from service.routes.counter import Counter
from service.routes.desk_papers import answer_with, offer_in, visit_in
from service.shapes.plans import figures_then
from service.store.creation import creation_of

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ASKED = ("on", "fitter", "budget", "whole", "part")
"""Fields with which something else is tried."""

LISTED = 100
"""Plans on one page; who looks for an older one looks for the rider."""

SHARED_DAYS = 30
"""How long a rider's link works; long enough to think it over."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Desk(Counter):
    """What every page over saved plans needs."""

    @property
    def every(self) -> dict[str, object]:
        """Give what every page shows."""
        return {"shop": self.serving.catalog.shop, "keeps_plans": True, "today": self.today}

    def view(self, saved: SavedPlan) -> PlanView:
        """Put a saved plan in words, with the names and figures of the release that it was made under."""
        pinned = self.pinned(saved)
        figures = figures_then(saved, pinned)
        if pinned is not None:
            return PlanView(saved.question, saved.plan, figures, pinned)
        return PlanView(*readable(saved.question, saved.plan, self.serving.catalog), figures, self.serving)


def _desk(request: Request, key: Seller, serving: ServingDep, today: TodayDep) -> Desk:
    return Desk(request=request, by=key.name, serving=serving, today=today)


DeskDep = Annotated[Desk, Depends(_desk)]


def _to(path: str) -> Response:
    return RedirectResponse(path, 303, headers=HEADERS)


# --- who sits there -------------------------------------------------------------------------------------------------


@router.get("/key")
def ask_key(serving: ServingDep) -> Response:
    """Ask for the key."""
    return page("key.html", {"shop": serving.catalog.shop, "keeps_plans": True})


@router.post("/key")
def take_key(request: Request, fields: Form) -> Response:
    """Keep the key in a cookie that only these pages get."""
    given = fields.one("key")
    if office_of(request).holder(given) is None:
        raise KeyNeeded
    answer = _to("/desk/plans")
    answer.set_cookie(
        COOKIE, given, path="/desk", httponly=True, samesite="strict", secure=request.url.scheme == "https"
    )
    return answer


@router.post("/key/away", dependencies=[OUR_FORM])
def drop_key() -> Response:
    """Forget the key in this browser."""
    answer = _to("/desk")
    answer.delete_cookie(COOKIE, path="/desk")
    return answer


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
    return _to(f"/desk/plans/{made.plan.id}")


def _rider(name: str, contact: str) -> NewRider:
    return NewRider(name=name[:200], contact=contact[:200])


@router.get("/plans/{plan}")
def show_saved(desk: DeskDep, plan: str) -> Response:
    """Show a saved plan: how it stands, what was done, what is to come."""
    saved = desk.keeper.get(plan)
    view = desk.view(saved)
    left = left_to_ask(saved, desk.today)
    standing = desk.standing(saved)
    told = {
        **_saved(desk, saved, view),
        "standing": tell_standing(standing, view, desk.serving.catalog),
        **asked_of(left, view.shop),
        "movable": movable(saved, view, fields_of(desk.request)),
        "others": other_bikes(desk.serving.catalog, saved.bike),
        "body": "plan_body.html",
        "plan": view,
        "links": _links(saved, view),
        "keep": (),
        "word": secrets.token_urlsafe(12),
    }
    return page("saved.html", told)


def _saved(desk: Desk, saved: SavedPlan, view: PlanView) -> dict[str, object]:
    return {
        **desk.every,
        "saved": saved,
        "state": STATES[saved.state],
        "bike": view.bike,
        "wanted": tell_wants(saved.question, view.catalog),
        "known": tell_found(saved.found_now, view.catalog),
        "done": tell_done(saved, view),
        "next": saved.to_come[0] if saved.to_come else None,
        "release": view.serving.name,
    }


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
        **_saved(desk, saved, then),
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
    made = desk.keeper.plan_anew(plan, _revision(fields), desk.serving, desk.today, change)
    if isinstance(made, NoPlan):
        raise MalformedQuestion("on", "there is no plan for this", "go back and change it")
    return _to(f"/desk/plans/{plan}")


def _revision(fields: Fields) -> int:
    return fields.count("revision")


@router.get("/plans/{plan}/visits/{number}/done")
def ask_done(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was really fitted and paid."""
    saved = desk.keeper.get(plan)
    view = desk.view(saved)
    told = {
        **_saved(desk, saved, view),
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
    desk.keeper.visit_done(plan, _revision(fields), done, desk.knowing(saved, done))
    return _to(f"/desk/plans/{plan}")


@router.get("/plans/{plan}/done/{number}/correct")
def ask_correction(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was written down wrongly of a visit."""
    saved, planned = desk.keeper.get(plan), desk.keeper.planned_for(plan, number)
    view = desk.view(planned)
    told = {
        **_saved(desk, saved, view),
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
        desk.keeper.take_back(plan, _revision(fields), number, desk.knowing(saved, recorded), why)
        return _to(f"/desk/plans/{plan}")
    done = laid_over(read_visit(fields, recorded.visit, desk.view(planned)), recorded)
    desk.keeper.correct(plan, _revision(fields), number, done, desk.knowing(saved, done), why)
    return _to(f"/desk/plans/{plan}")


@router.get("/plans/{plan}/done/{number}/test")
def ask_test(desk: DeskDep, plan: str, number: int) -> Response:
    """Ask what was measured at the end of a visit."""
    saved = desk.keeper.get(plan)
    # Planned anew since, the plan has other visits: what counts is what was planned when it was done.
    planned = desk.view(desk.keeper.planned_for(plan, number))
    done = saved.done[number - 1]
    visit = planned.all_visits[done.visit - 1]
    told = {
        **_saved(desk, saved, desk.view(saved)),
        "number": number,
        "visit": visit,
        "sheet": done.sheet,
        "judged": tell_judged(done.sheet, visit.figures, planned.catalog) if done.sheet else (),
        "channels": channels(planned, visit),
        "polarity": visit.figures.polarity,
    }
    return page("test.html", told)


@router.post("/plans/{plan}/done/{number}/test")
def take_test(desk: DeskDep, plan: str, number: int, fields: Form) -> Response:
    """Keep a test sheet."""
    desk.keeper.tested(plan, _revision(fields), number, read_sheet(fields))
    return _to(f"/desk/plans/{plan}")


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
            **_saved(desk, saved, view),
            "now": now,
            "parts": tell_claim(saved, view.catalog, desk.today),
            "history": desk.keeper.history(plan),
            "cautions": cautions_of(("estimate", "paid_work")),
        },
    )


@router.post("/plans/{plan}/next-bike")
def next_bike(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Plan for the rider's next bike with the parts of this one, and put this plan away."""
    bike = fields.one("bike")
    creation = creation_of("desk", f"{plan} {fields.one('revision')} {bike}", bike)
    made = desk.keeper.move(plan, _revision(fields), bike, desk.serving, desk.today, creation)
    if isinstance(made, NoPlan):
        raise MalformedQuestion(
            "bike", made.ask or "there is no way to the same on that bike", "take another bike"
        )
    return _to(f"/desk/plans/{made.plan.id}")


@router.post("/plans/{plan}/copy")
def copy_plan(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Save a plan again as it was planned, for another rider or another try."""
    made = desk.keeper.duplicate(
        plan, creation_of("desk", fields.one("word") or secrets.token_urlsafe(), plan)
    )
    return _to(f"/desk/plans/{made.plan.id}")


@router.post("/plans/{plan}/rider")
def name_rider(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Write down whose plan it is."""
    desk.keeper.name_rider(plan, _revision(fields), _rider(fields.one("rider"), fields.one("contact")))
    return _to(f"/desk/plans/{plan}")


@router.post("/plans/{plan}/away")
def put_away(desk: DeskDep, plan: str, fields: Form) -> Response:
    """Put a plan away, or take it up again."""
    desk.keeper.archive(plan, _revision(fields), away=fields.one("away") == "yes")
    return _to(f"/desk/plans/{plan}")


@router.post("/plans/{plan}/link", dependencies=[OUR_FORM])
def make_link(desk: DeskDep, plan: str) -> Response:
    """Make a link for the rider, and show it this once."""
    share, secret = desk.keeper.sharing.make(plan, SHARED_DAYS)
    where = f"{desk.request.url.scheme}://{desk.request.url.netloc}/desk/shared/{secret}"
    told = {**desk.every, "plan_at": f"/desk/plans/{plan}", "where": where, "ends": share.ends_at.date()}
    return page("link.html", told)


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
