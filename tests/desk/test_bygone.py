"""A plan that outlives its release is read all the same."""

from __future__ import annotations

from pydantic import TypeAdapter

from rules.answer import Plan
from rules.engine import Engine
from rules.figures import VisitFigures
from service import story
from service.desk.bygone import readable
from service.desk.pages import render
from service.desk.view import PlanView
from service.serving import Serving
from tests.contract.whole import demo_release


def test_a_plan_whose_parts_are_gone_from_the_catalog_is_read_all_the_same() -> None:
    serving = Serving.of(demo_release())
    plan = Engine(serving.catalog).path(story.PATH)
    assert isinstance(plan, Plan)
    plans = TypeAdapter(Plan)
    old = plans.validate_json(
        plans.dump_json(plan).replace(b"fulmar-4", b"gone-4").replace(b"tern-52", b"gone-52")
    )
    question, told = readable(story.PATH, old, serving.catalog)
    view = PlanView(question, told, (VisitFigures(),) * 2, serving)
    page = render("plan_body.html", plan=view, links=None, shop=view.shop)
    for words in ("gone-4", "gone-52", "Tern 6.5 in, two-way, 4 ohm", "1\u202f449.75"):
        assert words in page
