"""The cheapest path over several visits, or what stands in the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from rules.answer import Change, Feed, NoPlan, Plan, Proof, Visit
from rules.build import Placement
from rules.catalog.catalog import Catalog
from rules.changes import changes_between, feeds_of
from rules.conflicts import smallest_conflict
from rules.desk import Desk
from rules.errors import MalformedQuestion
from rules.fitment import news, preset_made
from rules.laws import HOPEFUL, Laws
from rules.ledger import ledger_of
from rules.money import total
from rules.net import Wiring
from rules.plan.aims import AS_USUAL, Aim
from rules.plan.cuts import Cut
from rules.plan.master import Master
from rules.plan.problem import Demand, Problem
from rules.plan.schedule import doings_of
from rules.plan.settle import State
from rules.plan.solve import Outcome, Search, conflicting_laws
from rules.question import PathQuestion
from rules.scene import number
from rules.verdict import Cause, Finding, Status
from rules.wiring import Option
from rules.wish import about, check_wish, options_of

STAGES = 6


def _always(_: Plan) -> bool:
    return True


@dataclass(frozen=True, slots=True, kw_only=True)
class Aimed:
    """What a plan is to be least in, before cost, visits and waste.

    Args:
        levels: What to minimise, first things first.
        is_worth: Tells of what is least so far whether to go on; its waste is not known yet.
        most_total: The whole cost after resale is at most this [minor units].
        most_pieces: Of these parts at most so many pieces come in.
    """

    levels: tuple[Aim, ...] = ()
    is_worth: Callable[[Plan], bool] = _always
    most_total: int | None = None
    most_pieces: Mapping[str, int] = field(default_factory=dict)


class Found(NamedTuple):
    """A plan, if there is one, and what the search for it learned."""

    plan: Plan | None
    lessons: tuple[Cut, ...]


def plan_path(desk: Desk, question: PathQuestion) -> Plan | NoPlan:
    """Find the cheapest path, proven, or the demands that conflict.

    Raises: `MalformedQuestion` for visits out of order, too many, or a want without any part.
    """
    check_question(question, desk.bench.tables.catalog)
    problem = problem_of(desk, question)
    search = Search(desk=desk, problem=problem, laws=desk.verified, by_path=True)
    outcome = search.run()
    if outcome.schedule is not None:
        return _plan(desk, problem, outcome)
    return _no_plan(desk, question, search, outcome)


def find_plan(desk: Desk, question: PathQuestion, aim: Aimed, taught: Sequence[Cut]) -> Found:
    """Find the plan that is proven to be the least, by what it aims at and then as usual.

    Facts that are missing are not looked into. The proof of the plan says nothing of cost where something else is aimed at.

    Args:
        taught: What earlier searches over the same visits and wants have learned.
    """
    problem = replace(problem_of(desk, question), most_total=aim.most_total, most_pieces=aim.most_pieces)
    search = Search(desk=desk, problem=problem, laws=desk.verified, by_path=True, taught=taught)
    if aim.levels:
        least = search.run(aim.levels)
        if least.state != "proven" or not aim.is_worth(_priced(desk, problem, least)):
            return Found(None, tuple(search.lessons()))
    outcome = search.run(AS_USUAL if Master.wasted in aim.levels else ())
    if outcome.state != "proven":
        return Found(None, tuple(search.lessons()))
    plan = _priced(desk, problem, outcome)
    if Master.wasted in aim.levels and plan.total < outcome.cost:
        # Less is wasted there only by not buying a bundle that is cheaper; but what is bought is the cheapest.
        return Found(None, tuple(search.lessons()))
    return Found(_checked_sum(plan, outcome), tuple(search.lessons()))


def problem_of(desk: Desk, question: PathQuestion) -> Problem:
    """State a path question as a search problem."""
    pricer, stages = desk.pricer, question.stages
    return Problem(
        start=desk.bench.present,
        stages=stages,
        demands=tuple(_demands(desk, question)),
        may_add=lambda x, k: (
            _is_welcome(desk, question, x) and pricer.price(x.part, stages[k - 1].on) is not None
        ),
        may_remove=lambda x, _: x not in question.locked,
        strict_home=True,
        keeps_wires=True,
        rewirable=question.allowed_rewiring,
        may_go=question.may_go,
        budget=question.budget,
        year_budgets=question.year_budgets,
        resale_counts=question.resale_counts,
        most_added_kg=question.most_added_kg,
    )


def _is_welcome(desk: Desk, question: PathQuestion, placed: Placement) -> bool:
    part = desk.bench.part(placed)
    if question.most_added_kg is not None and number(part.mass_kg) is None:
        return False
    return part.id not in question.excluded and (
        question.colour is None or part.colour in (None, question.colour)
    )


def check_question(question: PathQuestion, catalog: Catalog) -> None:
    """Refuse visits out of order, too many, or none; and a want without any part, or for a visit that is not.

    Raises: `MalformedQuestion`.
    """
    days = [stage.on for stage in question.stages]
    if not days or len(days) > STAGES:
        raise MalformedQuestion("stages", "a path has one to six visits", "give between one and six stages")
    if days != sorted(set(days)):
        raise MalformedQuestion(
            "stages", "visits are in order of their dates, no two on one day", "sort the stages by date"
        )
    for index, want in enumerate(question.wants):
        if want.by is not None and not 1 <= want.by <= len(days):
            raise MalformedQuestion(f"wants.{index}.by", "there is no such visit", "count visits from 1")
        check_wish(catalog, want, f"wants.{index}")


def _demands(desk: Desk, question: PathQuestion) -> Iterator[Demand]:
    last = len(question.stages)
    for want in question.wants:
        options = options_of(desk.bench, want)
        yield Demand(options=options, since=want.by or last, about=about(want), least_w=want.least_w)


# --- the plan ---------------------------------------------------------------------------------------------------


def _plan(desk: Desk, problem: Problem, outcome: Outcome) -> Plan:
    plan = _checked_sum(_priced(desk, problem, outcome), outcome)
    return replace(plan, lost_to_missing_facts=_lost(desk, problem, outcome))


def _checked_sum(plan: Plan, outcome: Outcome) -> Plan:
    if plan.total != outcome.cost:
        message = "the plan's lines do not add up to what the search found"
        raise AssertionError(message)
    return plan


def _priced(desk: Desk, problem: Problem, outcome: Outcome) -> Plan:
    visits = tuple(_visit(desk, problem, outcome, k) for k in range(1, problem.last + 1))
    return Plan(
        visits=visits,
        spent=sum(visit.spent for visit in visits),
        resale=sum(visit.resale for visit in visits),
        waste=outcome.waste,
        proof=Proof(state="proven" if outcome.state == "proven" else "best_found", bound=outcome.bound),
        ledger=ledger_of(desk, visits),
        start_wiring=None if outcome.way is None else _wiring(outcome.way, 0),
    )


def _visit(desk: Desk, problem: Problem, outcome: Outcome, k: int) -> Visit:
    schedule, way = outcome.schedule, outcome.way
    assert schedule is not None  # noqa: S101 - only called on an outcome with a schedule
    assert way is not None  # noqa: S101
    exact = replace(schedule, presets=way.presets, replugs=way.replugs)
    doings = doings_of(exact, problem, k)
    lines = desk.pricer.lines(doings)
    if lines is None:
        message = "the search bought what is not for sale"
        raise AssertionError(message)
    build = schedule.builds[k]
    resale = -total(line for line in lines if line.kind == "resale")
    return Visit(
        on=doings.on,
        fitter=doings.fitter,
        adds=tuple(sorted(doings.adds)),
        removes=tuple(sorted(doings.removes)),
        presets=tuple(preset_made(desk, x, doings) for x in sorted(doings.presets)),
        lines=lines,
        spent=total(lines) + resale,
        resale=resale,
        build=build,
        stays=tuple(sorted(doings.adds & schedule.builds[-1])),
        advice=news(desk, schedule.builds[k - 1], build),
        changes=_changes(desk, schedule.builds, way.options, k),
        feeds=_feeds(desk, way.options[k]),
        wiring=_wiring(way, k),
    )


def _wiring(way: State, k: int) -> Wiring | None:
    option = way.options[k]
    return None if option is None else option.mates


def _changes(
    desk: Desk, builds: tuple[frozenset[Placement], ...], options: tuple[Option | None, ...], k: int
) -> tuple[Change, ...]:
    now = options[k]
    return (
        ()
        if now is None
        else tuple(changes_between(desk.bench, builds[k - 1], options[k - 1], builds[k], now))
    )


def _feeds(desk: Desk, option: Option | None) -> tuple[Feed, ...]:
    return () if option is None else feeds_of(desk.bench, option)


def _lost(desk: Desk, problem: Problem, outcome: Outcome) -> tuple[Cause, ...]:
    """Name the missing facts that stand between this plan and a cheaper one."""
    if not any(law.finding.status is Status.UNKNOWN for law in desk.verified.all()):
        return ()
    cheaper = replace(problem, most_total=outcome.cost - 1)
    hopeful = Search(desk=desk, problem=cheaper, laws=desk.hopeful, by_path=False).run()
    if hopeful.schedule is None:
        return ()
    return _missing(desk, hopeful)


def _missing(desk: Desk, outcome: Outcome) -> tuple[Cause, ...]:
    assert outcome.schedule is not None  # noqa: S101 - only called on an outcome with a schedule
    findings = [
        x for build in dict.fromkeys(outcome.schedule.builds[1:]) for x in desk.examine(build).findings
    ]
    return tuple(dict.fromkeys(cause for finding in findings for cause in finding.missing))


# --- no plan ----------------------------------------------------------------------------------------------------


def _no_plan(desk: Desk, question: PathQuestion, search: Search, outcome: Outcome) -> NoPlan:
    if outcome.state == "gave_up":
        return NoPlan(reason="not_verified")
    hopeful = Search(desk=desk, problem=search.problem, laws=desk.hopeful, by_path=False).run()
    if hopeful.schedule is not None:
        return NoPlan(reason="not_verified", missing=_missing(desk, hopeful))
    conflicts, least = smallest_conflict(question, lambda eased: _has_path(desk, eased))
    # Where money or a fitter stands in the way, the rules that make the parts necessary are no explanation.
    findings = _findings(desk, least) if all(x.kind == "want" for x in conflicts) else ()
    return NoPlan(reason="conflict", conflicts=conflicts, findings=findings)


def _has_path(desk: Desk, question: PathQuestion) -> bool:
    search = Search(desk=desk, problem=problem_of(desk, question), laws=desk.hopeful, by_path=False)
    return search.has_way()


def _findings(desk: Desk, question: PathQuestion) -> tuple[Finding, ...]:
    # Learned anew: what was asked before must not choose the words.
    search = Search(
        desk=desk,
        problem=problem_of(desk, question),
        laws=Laws(HOPEFUL, desk.bench.like),
        by_path=False,
        by_tour=False,
    )
    search.run()
    return tuple(law.finding for law in conflicting_laws(search))
