"""`loomway plan`: what now and what later?"""

from __future__ import annotations

from rules.answer import NoPlan, Plan, Visit
from rules.catalog.catalog import Catalog
from rules.figures import VisitFigures
from rules.question import PathQuestion
from service.serving import Serving
from service.shapes.alternatives import PathAlternativesTold
from service.shapes.paths import LedgerTold, PathAsked, PathTold
from service.shapes.placement import placements_told
from service.shapes.reasons import PathReasonsTold
from service.terminal.alternatives import tell_alternatives
from service.terminal.figures import tell_figure_cautions, tell_figures
from service.terminal.fit import tell_findings, tell_missing
from service.terminal.output import amount, plan_words, say, say_json, show_table
from service.terminal.why import tell_reasons
from service.terminal.work import work_table


def answer_plan(
    serving: Serving, asked: PathAsked, *, as_json: bool, alternatives: bool = False, why: bool = False
) -> None:
    """Answer, in sentences and tables or as the API does."""
    question = asked.to_domain()
    if alternatives:
        _answer_alternatives(serving, question, as_json=as_json)
        return
    if why:
        _answer_why(serving, question, as_json=as_json)
        return
    answer = serving.engine.cured(question)
    catalog = serving.catalog_of(question.found)
    if as_json:
        say_json(PathTold.from_domain(answer, question, serving))
    elif isinstance(answer, Plan):
        tell_plan(answer, catalog, serving.engine.figures(question, answer))
        tell_proof(answer, catalog)
    else:
        tell_no_plan(answer, catalog)


def _answer_alternatives(serving: Serving, question: PathQuestion, *, as_json: bool) -> None:
    answer = serving.engine.alternatives(question)
    catalog = serving.catalog_of(question.found)
    if as_json:
        say_json(PathAlternativesTold.of_answer(answer, question, serving))
    elif isinstance(answer, NoPlan):
        tell_no_plan(answer, catalog)
    else:
        tell_plan(answer.cheapest, catalog)
        tell_proof(answer.cheapest, catalog)
        tell_alternatives(answer, catalog)


def _answer_why(serving: Serving, question: PathQuestion, *, as_json: bool) -> None:
    answer = serving.engine.reasons(question)
    catalog = serving.catalog_of(question.found)
    if as_json:
        say_json(PathReasonsTold.of_answer(answer, question, serving))
    elif isinstance(answer, NoPlan):
        tell_no_plan(answer, catalog)
    else:
        tell_plan(answer.plan, catalog)
        tell_proof(answer.plan, catalog)
        tell_reasons(answer, catalog)


def tell_plan(plan: Plan, catalog: Catalog, figures: tuple[VisitFigures, ...] = ()) -> None:
    """Tell each visit, and the money of them all; nothing here must be kept from the rider."""
    for index, visit in enumerate(plan.visits):
        if not visit.is_empty:
            _tell_visit(visit, catalog)
            for one in figures[index : index + 1]:
                tell_figures(one, catalog)
    _tell_money(plan, catalog)
    tell_ledger(plan, catalog)
    tell_figure_cautions(figures)


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


def tell_ledger(plan: Plan, catalog: Catalog) -> None:
    """Tell what stays and what is sold on, with what was paid where it is known."""
    rows = [
        (
            entry.name,
            entry.place_name or "",
            _since(entry),
            _afterwards(entry, plan),
            "" if entry.paid_minor is None else amount(entry.paid_minor, catalog.shop),
            amount(entry.resale_minor, catalog.shop) if entry.resale_minor else "",
        )
        for entry in (LedgerTold.from_domain(entry, catalog) for entry in plan.ledger)
    ]
    columns = ("part", "where", "since", "afterwards", "paid", "fetches")
    if rows:
        show_table("What stays, and what you sell on", columns, rows, money=2)


def _since(entry: LedgerTold) -> str:
    fitter = {"shop": ", in the workshop", "home": ", at home"}.get(entry.fitter or "", "")
    return f"{entry.on}{fitter}" if entry.on else "before"


def _afterwards(entry: LedgerTold, plan: Plan) -> str:
    if entry.sold_at_visit is not None:
        word = "sold on" if entry.resale_minor else "comes off"
        return f"{word} {plan.visits[entry.sold_at_visit - 1].on}"
    return "stays" if entry.stays else "came in a set, not needed"


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


def tell_no_plan(answer: NoPlan, catalog: Catalog) -> None:
    """Tell which demands stand in the way, or which facts are missing."""
    if answer.reason == "conflict":
        say("There is no way to have all of this:")
    else:
        say("Nobody can say yet: facts are missing.")
    words = plan_words(catalog)
    say(*(f"  - {words.demand(conflict)}" for conflict in answer.conflicts))
    if answer.cures:
        say("Each of these alone makes a way:")
        say(*(f"  - {words.cure(cure)}" for cure in answer.cures))
    if answer.ask:
        say(f"Ask first: {answer.ask}")
    tell_findings(answer.findings, catalog)
    tell_missing(answer.missing)
