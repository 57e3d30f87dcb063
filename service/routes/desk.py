"""The salesperson's desk: pages for a person, over the same answers that programs get."""

from __future__ import annotations

import secrets
from datetime import date
from pathlib import Path
from urllib.parse import urlencode

from fastapi import APIRouter, HTTPException, Request, Response

from rules.answer import NoPlan, Plan
from rules.build import STOCK
from rules.catalog.catalog import Bike
from rules.errors import MalformedQuestion
from rules.proposals import propose
from rules.question import PathQuestion
from service.dependencies import ServingDep, TodayDep
from service.desk import brief, found, words
from service.desk.asked import Fields, Row, address, asked_of, question_in, rows_in, written
from service.desk.drawing.bike import draw_bike, letters_of
from service.desk.measured import ROWS, measurable, tell_found, told_path
from service.desk.pages import page
from service.desk.proposing import ASKED, read_brief, tell_proposals, told_in_words
from service.desk.routing import PageRoute, fields_of
from service.desk.sheets import BY_ID, PAPERS
from service.desk.telling import tell_no_plan, tell_wants, tell_ways, tell_why
from service.desk.view import PlanView, bench_of
from service.routes import desk_keys, desk_plans, desk_visits
from service.routes.desk_papers import answer_with, offer_in, visit_in
from service.serving import Serving

router = APIRouter(prefix="/desk", route_class=PageRoute, include_in_schema=False)
for one in (desk_keys, desk_plans, desk_visits):
    router.include_router(one.router)

STATIC = Path(__file__).parent.parent / "desk" / "static"
KINDS = {".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}


@router.get("/static/{name}")
def static(name: str) -> Response:
    """Give one of the page's own files."""
    known = {x.name: x for x in STATIC.iterdir()}
    if name not in known:
        raise HTTPException(404)
    headers = {"Cache-Control": "public, no-cache", "X-Content-Type-Options": "nosniff"}
    return Response(known[name].read_bytes(), media_type=KINDS[known[name].suffix], headers=headers)


@router.get("")
def start(request: Request, serving: ServingDep) -> Response:
    """Ask which bike."""
    return page("start.html", {**_every(request, serving), "families": brief.families(serving.catalog)})


@router.get("/brief")
def ask_brief(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Ask what is wanted, when, and for how much."""
    fields = fields_of(request)
    asked = fields.one("bike")
    bike = serving.catalog.bikes[serving.engine.bikes_meant(asked)[0]]
    letters = letters_of(bike, serving.catalog)
    days = brief.first_visits(today)
    told = {
        **_every(request, serving),
        "bike": bike,
        "ask": serving.catalog.ambiguous[asked].ask if asked in serving.catalog.ambiguous else "",
        "places": found.places_found(bike, letters, serving),
        "changed": found.changed_in(fields),
        "paid": dict(zip(fields.all("since"), fields.all("since_paid"), strict=False)),
        "pieces": range(found.FITTED_SINCE),
        "own_places": found.own_choices(bike, serving.catalog),
        "owned": range(found.OWN_PARTS),
        "measurable": measurable(bike, serving.catalog),
        "measures": range(ROWS),
        "functions": brief.functions(bike, serving, days[0]),
        "years": _years(fields, days),
        "drawing": draw_bike(
            bike, serving.catalog, new=(), there={x.split(".")[0] for x in bike.has.stock}, name="bike"
        ),
        "choices": brief.choices(bike, serving, days[0]),
        "visits": brief.BY,
        "had": fields,
        "rows": rows_in(fields) or _proposed(days),
        "asked": ASKED,
        "paints": _paints(bike),
    }
    return page("brief.html", told)


def _proposed(days: tuple[date, ...]) -> tuple[Row, ...]:
    """Propose two visits, with room for a third."""
    first, second, *_ = (x.isoformat() for x in days)
    return tuple(Row(on=x, fitter="shop", budget="") for x in (first, second, ""))


def _years(fields: Fields, days: tuple[date, ...]) -> list[tuple[int, str]]:
    """Ask for what each year may cost, for the years of the visits that are proposed."""
    return sorted({**dict.fromkeys((x.year for x in days), ""), **fields.years}.items())


def _paints(bike: Bike) -> tuple[str, ...]:
    found = bike.has.facts.get("paints")
    return found if isinstance(found, tuple) else ()


@router.get("/proposals")
def show_proposals(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Propose systems side by side, from what a rider told."""
    fields = fields_of(request)
    asked = read_brief(fields, serving, today)
    systems = propose(serving.engine, asked)
    told = {
        **_every(request, serving),
        "bike": serving.catalog.bikes[serving.engine.bikes_meant(asked.bike)[0]],
        "said": told_in_words(asked),
        "told": tell_proposals(systems, serving.catalog_of(asked.found or STOCK)),
        "again": f"/desk/brief?{urlencode(fields.pairs)}",
    }
    return page("proposals.html", told)


@router.get("/plan")
def show_plan(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Plan, and show the plan with all that belongs to it."""
    fields = fields_of(request)
    question = _question(fields, serving, today)
    answer = serving.engine.cured(question)
    shop = serving.catalog.shop
    bench = bench_of(question, serving)
    told = {
        **_every(request, serving),
        "today": today,
        "bike": bench.bike,
        "q": written(question),
        "action": "/desk/plan",
        "again": "" if fields.has("q") else f"/desk/brief?{urlencode(fields.pairs)}",
        **asked_of(question, shop),
        "known": tell_found(question.found, bench.tables.catalog),
        "measured": [
            {"path": x.path, "says": told_path(x.path, bench.tables.catalog)} for x in question.found.measured
        ],
        "resale_counts": question.resale_counts,
        "wanted": tell_wants(question, bench.tables.catalog),
        "word": secrets.token_urlsafe(12),
        "release": serving.name,
    }
    if isinstance(answer, NoPlan):
        return page(
            "plan.html", {**told, "body": "no_plan.html", "told": tell_no_plan(answer, bench.tables.catalog)}
        )
    view = PlanView(question, answer, serving.engine.figures(question, answer), serving)
    return page("plan.html", {**told, "body": "plan_body.html", "plan": view, "links": _links(view)})


def _question(fields: Fields, serving: Serving, today: date) -> PathQuestion:
    if fields.has("q"):
        return question_in(fields, serving.catalog.shop)
    return brief.question_of(fields, serving, today)


def _links(view: PlanView) -> dict[str, object]:
    def link(path: str, **more: object) -> str:
        return address(f"/desk/{path}", view.question, **more)

    papers = [
        {
            "visit": words.day(visit.on),
            "name": one.name,
            "page": link(f"papers/{one.id}", visit=visit.number),
            "pdf": link(f"papers/{one.id}", visit=visit.number, **{"as": "pdf"}),
        }
        for visit in view.visits
        for one in PAPERS
    ]
    return {
        "why": link("why"),
        "ways": link("ways"),
        "quote": "/desk/papers/quote",
        "hidden": [("q", written(view.question))],
        "papers": papers,
    }


@router.get("/why")
def show_why(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Say why each part is bought, and why then."""
    question = _question(fields_of(request), serving, today)
    answer = serving.engine.reasons(question)
    catalog = serving.catalog_of(question.found)
    told = _beside(request, serving, question, "Why each part, and why then")
    if isinstance(answer, NoPlan):
        return page("told.html", {**told, "body": "no_plan.html", "told": tell_no_plan(answer, catalog)})
    return page("told.html", {**told, "body": "why_body.html", "told": tell_why(answer, catalog)})


@router.get("/ways")
def show_ways(request: Request, serving: ServingDep, today: TodayDep) -> Response:
    """Show other ways beside the plan."""
    question = _question(fields_of(request), serving, today)
    answer = serving.engine.alternatives(question)
    catalog = serving.catalog_of(question.found)
    told = _beside(request, serving, question, "Other ways")
    if isinstance(answer, NoPlan):
        return page("told.html", {**told, "body": "no_plan.html", "told": tell_no_plan(answer, catalog)})
    return page("told.html", {**told, "body": "ways_body.html", "told": tell_ways(answer, catalog)})


def _beside(request: Request, serving: Serving, question: PathQuestion, title: str) -> dict[str, object]:
    """What a page shows that stands beside a plan."""
    bike = serving.catalog.bikes[serving.engine.bikes_meant(question.bike)[0]]
    back = address("/desk/plan", question)
    return {**_every(request, serving), "bike": bike, "title": title, "back": back}


@router.get("/papers/{name}")
def show_paper(request: Request, name: str, serving: ServingDep, today: TodayDep) -> Response:
    """Show a paper, as a page that prints or as a PDF."""
    fields = fields_of(request)
    if name not in BY_ID:
        raise HTTPException(404)
    question = _question(fields, serving, today)
    answer = serving.engine.path(question)
    if isinstance(answer, NoPlan):
        raise MalformedQuestion("q", "there is no plan for this", "go back to the plan")
    view = _view(question, answer, serving)
    offer = offer_in(fields, serving.catalog.shop, today)
    told = {
        "back": address("/desk/plan", question),
        "pdf": f"?{urlencode([*((x, y) for x, y in fields.pairs if x != 'as'), ('as', 'pdf')])}",
    }
    return answer_with(
        BY_ID[name], view, visit_in(view, fields), offer, told, as_pdf=fields.one("as") == "pdf"
    )


def _view(question: PathQuestion, plan: Plan, serving: Serving) -> PlanView:
    return PlanView(question, plan, serving.engine.figures(question, plan), serving)


def _every(request: Request, serving: Serving) -> dict[str, object]:
    """Give what every page shows."""
    return {"shop": serving.catalog.shop, "keeps_plans": request.app.state.office is not None}
