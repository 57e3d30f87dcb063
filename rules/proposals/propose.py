"""From a brief to at most three whole systems, each with its cheapest path."""

from __future__ import annotations

from dataclasses import dataclass

from rules.answer import NoPlan, Plan
from rules.bench import Bench
from rules.build import Placement
from rules.desk import Desk
from rules.engine import Engine
from rules.errors import MalformedQuestion
from rules.found import check_found
from rules.proposals.brief import Brief, Unasked, unasked
from rules.proposals.reasons import Reason, reasons_of
from rules.proposals.system import System, systems_for
from rules.proposals.wishes import wishes_of
from rules.question import PathQuestion, Want

SHOWN = 3
"""Proposals, at most: who must choose among more chooses none (common practice, no source)."""

TELLING = ("speaker", "amplifier", "head_unit")
"""Kinds that make what a system is; everything else follows from them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposal:
    """One whole system that a rider could have in the end, with the cheapest path to it.

    Attributes:
        name: What it is.
        question: That the plan answers: to plan anew, or to save it.
        stays: Everything that is bought and still there at the end.
        cautions: Ids of what must be said with it.
    """

    name: str
    system: System
    question: PathQuestion
    plan: Plan
    stays: tuple[Placement, ...]
    reasons: tuple[Reason, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NotProposed:
    """A system that was looked for and has no path, and why; None where nothing for sale could be in one of its zones."""

    name: str
    answer: NoPlan | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Proposals:
    """At most three proposals, the one with the cheapest path first; or what must be asked first.

    No two of them are the same in what they are: each has other speakers, another amplifier or another head unit somewhere.
    """

    proposals: tuple[Proposal, ...] = ()
    not_proposed: tuple[NotProposed, ...] = ()
    unasked: tuple[Unasked, ...] = ()


def propose(engine: Engine, brief: Brief) -> Proposals:
    """Propose systems. The same brief gives the same ones, and at most five paths are looked for.

    Raises: what `Engine.path` raises, for ids that are not known and for questions that contradict themselves.
    """
    bikes = engine.bikes_meant(brief.bike)
    _know_functions(engine, brief)
    missing = unasked(brief)
    if missing or brief.found is None:
        return Proposals(unasked=missing)
    check_found(engine.catalog, [engine.catalog.bikes[x] for x in bikes], brief.found)
    desk = _desk(engine, bikes[0], brief)
    found: dict[frozenset[Placement], Proposal] = {}
    without: list[NotProposed] = []
    for system in systems_for(brief, _zones(desk)):
        wants = wishes_of(system, desk, brief)
        answer = None if wants is None else engine.path(_question(brief, wants))
        if wants is None or not isinstance(answer, Plan):
            none = answer if isinstance(answer, NoPlan) else None
            without.append(NotProposed(name=system.name, answer=none))
            continue
        found.setdefault(_what_it_is(desk, answer), _told(engine, desk, brief, system, wants, answer))
        if len(found) == SHOWN:
            break
    shown = sorted(found.values(), key=lambda x: (x.plan.total, x.name))
    return Proposals(proposals=tuple(shown), not_proposed=tuple(without))


def _know_functions(engine: Engine, brief: Brief) -> None:
    known = {tag for part in engine.catalog.parts.values() for tag in part.tags}
    for index, function in enumerate(brief.functions):
        if function not in known:
            raise MalformedQuestion(
                f"functions.{index}",
                "nothing in the catalog has this function",
                f"take what the catalog has, such as {', '.join(sorted(known)[:4])}",
            )


def _desk(engine: Engine, bike: str, brief: Brief) -> Desk:
    """Give a desk of its own: what is tried on it is nobody else's."""
    assert brief.found is not None  # noqa: S101 -- the caller has looked
    tables = engine.tables.widened(brief.found.own_parts)
    return Desk.for_bench(Bench(tables, engine.catalog.bikes[bike], brief.found))


def _zones(desk: Desk) -> frozenset[str]:
    places = desk.bench.tables.catalog.places
    return frozenset(zone for x in desk.bench.has.places if (zone := places[x].zone) is not None)


def _question(brief: Brief, wants: tuple[Want, ...]) -> PathQuestion:
    assert brief.found is not None  # noqa: S101 -- the caller has looked
    return PathQuestion(
        bike=brief.bike,
        stages=brief.stages,
        wants=wants,
        found=brief.found,
        budget=brief.budget,
        year_budgets=brief.year_budgets,
        colour=brief.colour,
    )


def _what_it_is(desk: Desk, plan: Plan) -> frozenset[Placement]:
    return frozenset(x for x in plan.visits[-1].build if desk.bench.part(x).kind in TELLING)


def _told(
    engine: Engine, desk: Desk, brief: Brief, system: System, wants: tuple[Want, ...], plan: Plan
) -> Proposal:
    question = _question(brief, wants)
    figures = engine.figures(question, plan)
    done = [index for index, visit in enumerate(plan.visits) if not visit.is_empty]
    last = done[-1] if done else 0
    said = {caution for one in figures for caution in one.cautions}
    return Proposal(
        name=system.name,
        system=system,
        question=question,
        plan=plan,
        stays=tuple(sorted(x for visit in plan.visits for x in visit.stays)),
        reasons=reasons_of(system, brief, figures[last], plan.visits[last].advice, desk.bench.tables.catalog),
        cautions=tuple(sorted(said)),
    )
