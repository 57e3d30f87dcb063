"""Verdicts by a declarative model: verdicts.lp says which builds count, clingo finds the cheapest."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import NamedTuple

import clingo

from rules.build import Placement
from rules.question import FitQuestion
from rules.verdict import Verdict
from tests.oracle.asp_facts import Facts
from tests.oracle.reading import MOST_PRESENT, Mate, World


class Judged(NamedTuple):
    """A verdict. `cost` is None where the asked part is not sold: then only the verdict counts."""

    verdict: Verdict
    place: str | None = None
    cost: int | None = None
    pieces: int = 0
    extras: tuple[Placement, ...] = ()
    presets: tuple[str, ...] = ()
    rewires: bool = False


class Model(NamedTuple):
    """A best build and wiring: what it costs besides what is given back, how many pieces, which, and what it does."""

    spent: int
    pieces: int
    extras: tuple[Placement, ...]
    presets: tuple[str, ...]
    rewires: bool


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
    ways = _present_wirings(world, question)
    if len(ways) > MOST_PRESENT:
        return Judged(Verdict.NOT_VERIFIED)
    worlds = [replace(world, now=way) for way in ways] or [world]
    answers = {_best_place(one, question) for one in worlds}
    return answers.pop() if len(answers) == 1 else Judged(Verdict.NOT_VERIFIED)


def _present_wirings(world: World, question: FitQuestion) -> list[frozenset[Mate]]:
    """Ask for every wiring of the bike as it stands, and keep those that hold what somebody has seen."""
    facts = Facts(world, question, world.present)
    control = clingo.Control(["0"], logger=lambda *_: None)
    looking = "time(0). there(P,0) :- present(P). #show mated/2."
    control.add("base", [], f"{_program('wirings.lp')}\n{facts.text}\n{looking}")
    control.ground([("base", [])])
    with control.solve(yield_=True) as handle:
        ways = {
            frozenset(facts.edges[mate.arguments[0].string] for mate in model.symbols(shown=True))
            for model in handle
        }
    return [way for way in ways if world.may_be_wired(way)]


def _best_place(world: World, question: FitQuestion) -> Judged:
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
    return _judged(Verdict.FITS, place, facts, best) if best else Judged(Verdict.FITS, place)


def _fits_with(facts: Facts, asked: Placement, place: str) -> Judged:
    best = _solve(facts, "strict. priced.") if _is_payable(facts, asked) else None
    if best is None:
        return Judged(Verdict.FITS_WITH, place)
    return _judged(Verdict.FITS_WITH, place, facts, best)


def _judged(verdict: Verdict, place: str, facts: Facts, best: Model) -> Judged:
    return Judged(
        verdict, place, best.spent - facts.resale, best.pieces, best.extras, best.presets, best.rewires
    )


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
def _program(name: str) -> str:
    return Path(__file__).with_name(name).read_text(encoding="utf-8")


def _solve(facts: Facts, mode: str):
    """Give the best model, the first in order of names, and one without rewiring if that is no dearer; or None."""
    priced = "priced" in mode
    control = clingo.Control(
        ["--opt-mode=optN", "0"] if priced else ["--opt-mode=ignore", "1"], logger=lambda *_: None
    )
    control.add("base", [], f"{_program('wirings.lp')}\n{_program('verdicts.lp')}\n{facts.text}\n{mode}")
    control.ground([("base", [])])
    models = []
    with control.solve(yield_=True) as handle:
        for model in handle:
            if not priced:
                return True
            if model.optimality_proven:
                models.append(_read(facts, model))
    return min(models, key=_order) if models else None


def _order(model: Model):
    return model.spent, model.pieces, [str(extra) for extra in model.extras], model.presets, model.rewires


def _read(facts: Facts, model) -> Model:
    costs = dict(zip(model.priority, model.cost, strict=True))
    shown: dict[str, list[str]] = {"in": [], "made": [], "rewired": []}
    for symbol in model.symbols(shown=True):
        shown[symbol.name].append(symbol.arguments[0].string if symbol.arguments else "")
    extras = {str(one): one for one in facts.extras}
    return Model(
        costs.get(2, 0),
        costs.get(1, 0),
        tuple(sorted((extras[name] for name in shown["in"] if name in extras), key=str)),
        tuple(sorted(shown["made"])),
        bool(shown["rewired"]),
    )
