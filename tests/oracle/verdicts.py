"""Verdicts by a declarative model: verdicts.lp says which builds count, clingo finds the cheapest."""

from __future__ import annotations

from functools import cache
from pathlib import Path
from typing import NamedTuple

import clingo

from rules.build import Placement
from rules.question import FitQuestion
from rules.verdict import Verdict
from tests.oracle.asp_facts import Facts
from tests.oracle.reading import World


class Judged(NamedTuple):
    """A verdict. `cost` is None where the asked part is not sold: then only the verdict counts."""

    verdict: Verdict
    place: str | None = None
    cost: int | None = None
    pieces: int = 0
    extras: tuple[Placement, ...] = ()


_RANK = [Verdict.FITS, Verdict.FITS_WITH, Verdict.NOT_VERIFIED, Verdict.DOES_NOT_FIT]


def judge(catalog, question: FitQuestion) -> Judged:
    """Give the verdict on a question: over all sides of a split, and over all places if none is named."""
    if question.bike in catalog.bikes:
        return _on_bike(catalog, question, question.bike)
    sides = [_on_bike(catalog, question, bike) for bike in catalog.ambiguous[question.bike].sides]
    if len({(side.verdict, side.place, side.extras) for side in sides}) > 1:
        return Judged(Verdict.NOT_VERIFIED)
    same_cost = len({side.cost for side in sides}) == 1
    return sides[0] if same_cost else sides[0]._replace(cost=None)


def _on_bike(catalog, question: FitQuestion, bike: str) -> Judged:
    world = World(catalog, bike, question.found)
    places = [question.place] if question.place else sorted(world.has.places)
    return min((judge_at(world, question, place) for place in places), key=_rank)


def _rank(judged: Judged):
    return _RANK.index(judged.verdict), judged.cost is None, judged.cost or 0, judged.place or ""


def judge_at(world: World, question: FitQuestion, place: str) -> Judged:
    """Give the verdict for one bike and one place."""
    asked = Placement(question.part, place)
    if not world.can_place(*asked):
        return Judged(Verdict.DOES_NOT_FIT, place)
    facts = Facts(world, question, _asked_build(world, asked))
    already = "already." if asked in world.present else ""
    if _solve(facts, f"strict. bare. {already}"):
        return _fits(facts, asked, place)
    if _solve(facts, "strict."):
        return _fits_with(facts, asked, place)
    return Judged(Verdict.NOT_VERIFIED if _solve(facts, "lenient.") else Verdict.DOES_NOT_FIT, place)


def _fits(facts: Facts, asked: Placement, place: str) -> Judged:
    if asked in facts.world.present:
        return Judged(Verdict.FITS, place, 0)
    if not _is_payable(facts, asked):
        return Judged(Verdict.FITS, place)
    best = _solve(facts, "strict. bare. priced.")
    return Judged(Verdict.FITS, place, best[0] - facts.resale if best else None)


def _fits_with(facts: Facts, asked: Placement, place: str) -> Judged:
    best = _solve(facts, "strict. priced.") if _is_payable(facts, asked) else None
    if best is None:
        return Judged(Verdict.FITS_WITH, place)
    return Judged(Verdict.FITS_WITH, place, best[0] - facts.resale, best[1], best[2])


def _is_payable(facts: Facts, asked: Placement) -> bool:
    """Tell whether the asked part is sold, and there is a price list at all."""
    sold = asked in facts.world.present or facts.world.for_sale(asked.part, facts.question.on)
    return sold and not facts.undoable


def _asked_build(world: World, asked: Placement) -> frozenset[Placement]:
    """Put the part in; take out the occupants of a full slot, and then what lost its host."""
    inside = set(world.present) | {asked}
    occupants = {one for one in inside if world.slot(one) == world.slot(asked)}
    if len(occupants) > world.capacity(world.slot(asked)):
        inside -= occupants - {asked}
    shrinking = True
    while shrinking:
        shrinking = False
        for one in sorted(inside - {asked}):
            hosts = {Placement(host, one.place) for host in world.part(one).host}
            if hosts & world.present and not hosts & inside:
                inside.discard(one)
                shrinking = True
    return frozenset(inside)


@cache
def _program() -> str:
    return Path(__file__).with_name("verdicts.lp").read_text(encoding="utf-8")


def _solve(facts: Facts, mode: str):
    """Give cost, pieces and extras of the best model, the first in order of names; None if there is none."""
    priced = "priced" in mode
    control = clingo.Control(
        ["--opt-mode=optN", "0"] if priced else ["--opt-mode=ignore", "1"], logger=lambda *_: None
    )
    control.add("base", [], f"{_program()}\n{facts.text}\n{mode}")
    control.ground([("base", [])])
    models = []
    with control.solve(yield_=True) as handle:
        for model in handle:
            if not priced:
                return True
            if model.optimality_proven:
                costs = dict(zip(model.priority, model.cost, strict=True))
                models.append((costs.get(2, 0), costs.get(1, 0), _extras(facts, model)))
    return min(models, key=lambda one: (one[0], one[1], [str(extra) for extra in one[2]])) if models else None


def _extras(facts: Facts, model) -> tuple[Placement, ...]:
    placed = [symbol.arguments[0].string for symbol in model.symbols(shown=True) if symbol.name == "in"]
    extras = {str(one): one for one in facts.extras}
    return tuple(sorted((extras[name] for name in placed if name in extras), key=str))
