"""`loomway plan`: what now and what later?"""

from __future__ import annotations

from rules.answer import Conflict, NoPlan, Plan, Visit
from rules.catalog.catalog import Catalog
from service.serving import Serving
from service.shapes.paths import PathAsked, PathTold
from service.shapes.placement import placements_told
from service.terminal.fit import tell_findings, tell_missing
from service.terminal.output import amount, say, say_json, show_table
from service.terminal.work import work_table


def answer_plan(serving: Serving, asked: PathAsked, *, as_json: bool) -> None:
    """Answer, in sentences and tables or as the API does."""
    question = asked.to_domain()
    answer = serving.engine.path(question)
    if as_json:
        say_json(PathTold.from_domain(answer, question, serving))
    elif isinstance(answer, Plan):
        tell_plan(answer, serving.catalog)
        tell_proof(answer, serving.catalog)
    else:
        tell_no_plan(answer, serving.catalog)


def tell_plan(plan: Plan, catalog: Catalog) -> None:
    """Tell each visit, and the money of them all; nothing here must be kept from the rider."""
    for visit in plan.visits:
        if not visit.is_empty:
            _tell_visit(visit, catalog)
    _tell_money(plan, catalog)


def _tell_visit(visit: Visit, catalog: Catalog) -> None:
    where = "in the workshop" if visit.fitter == "shop" else "at home"
    say("", f"Visit of {visit.on}, fitted {where}")
    stays = set(visit.stays)
    rows = [
        (told.name, told.place_name, "stays" if added in stays else "sold on later")
        for added in sorted(visit.adds, key=lambda placement: (placement.place, placement.part))
        for told in placements_told([added], catalog)
    ]
    show_table("", ("fitted", "where", "afterwards"), rows)
    for told in placements_told(visit.removes, catalog):
        say(f"  Comes off: {told.name} ({told.place_name})")
    work_table("", visit.lines, visit.spent - visit.resale, catalog)
    tell_findings(visit.advice, catalog)


def _tell_money(plan: Plan, catalog: Catalog) -> None:
    shop = catalog.shop
    rows = [
        (
            str(visit.on),
            amount(visit.spent, shop),
            amount(visit.resale, shop),
            amount(visit.spent - visit.resale, shop),
        )
        for visit in plan.visits
    ]
    total = ("in all", amount(plan.spent, shop), amount(plan.resale, shop), amount(plan.total, shop))
    show_table("The money", ("visit", "spent", "sold on for", "comes to"), [*rows, total], money=3)


def tell_proof(plan: Plan, catalog: Catalog) -> None:
    """Tell the salesperson how sure the plan is, what is gone at the end, and what to measure."""
    if plan.proof.is_proven:
        say("There is no cheaper way.")
    else:
        say(f"This is the best way found; none can cost less than {amount(plan.proof.bound, catalog.shop)}.")
    say(f"Of what is spent, {amount(plan.waste, catalog.shop)} is gone at the end.")
    if plan.lost_to_missing_facts:
        say("Some parts were left out because facts are missing.")
        tell_missing(plan.lost_to_missing_facts)


_DEMANDS = {
    "want": "what is wanted: {about}",
    "budget": "the budget of a visit: {about}",
    "year_budget": "the budget of a year: {about}",
    "path_budget": "the budget for everything: {about}",
    "availability": "when it can be had: {about}",
    "no_rewiring": "nothing may be rewired: {about}",
    "rule": "what the bike and the parts allow: {about}",
    "locked": "what must stay: {about}",
    "excluded": "what was ruled out: {about}",
    "fitter": "who fits: {about}",
}


def tell_no_plan(answer: NoPlan, catalog: Catalog) -> None:
    """Tell which demands stand in the way, or which facts are missing."""
    if answer.reason == "conflict":
        say("There is no way to have all of this:")
    else:
        say("Nobody can say yet: facts are missing.")
    say(*(f"  - {_demand(conflict, catalog)}" for conflict in answer.conflicts))
    if answer.ask:
        say(f"Ask first: {answer.ask}")
    tell_findings(answer.findings, catalog)
    tell_missing(answer.missing)


def _demand(conflict: Conflict, catalog: Catalog) -> str:
    part = catalog.parts.get(conflict.about)
    return _DEMANDS[conflict.kind].format(about=part.name if part else conflict.about)
