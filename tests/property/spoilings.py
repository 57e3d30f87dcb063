"""Random ways to spoil a plan, each a change that makes it wrong whatever the plan is; and changes that do not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from random import Random
from typing import Any

from rules.answer import Plan, Visit
from rules.net import Node, mate

Spoiling = Callable[[Random, Plan], Plan | None]
"""Gives a spoiled plan; None where a plan has nothing that could be spoiled like that."""


def _visit(rng: Random, plan: Plan, has: Callable[[Visit], Any]) -> int | None:
    """Draw a visit that has something to spoil."""
    numbers = [number for number, visit in enumerate(plan.visits) if has(visit)]
    return rng.choice(numbers) if numbers else None


def _with(plan: Plan, number: int, **more: Any) -> Plan:
    visits = list(plan.visits)
    visits[number] = replace(visits[number], **more)
    return replace(plan, visits=tuple(visits))


def _one_of(name: str, change: Callable[[Random, Any], tuple[Any, ...]]) -> Spoiling:
    """Change one of a visit's lines, changes, feeds or presets into others."""

    def spoil(rng: Random, plan: Plan) -> Plan | None:
        number = _visit(rng, plan, lambda visit: getattr(visit, name))
        if number is None:
            return None
        things = list(getattr(plan.visits[number], name))
        at = rng.randrange(len(things))
        things[at : at + 1] = change(rng, things[at])
        return _with(plan, number, **{name: tuple(things)})

    return spoil


def _visit_says(name: str, change: Callable[[Random, Visit], Any]) -> Spoiling:
    def spoil(rng: Random, plan: Plan) -> Plan:
        number = rng.randrange(len(plan.visits))
        return _with(plan, number, **{name: change(rng, plan.visits[number])})

    return spoil


def _plan_says(name: str, change: Callable[[Random, Plan], Any]) -> Spoiling:
    return lambda rng, plan: replace(plan, **{name: change(rng, plan)})


def _ledger(change: Callable[[Random, Any], tuple[Any, ...]]) -> Spoiling:
    def spoil(rng: Random, plan: Plan) -> Plan | None:
        if not plan.ledger:
            return None
        entries = list(plan.ledger)
        at = rng.randrange(len(entries))
        entries[at : at + 1] = change(rng, entries[at])
        return replace(plan, ledger=tuple(entries))

    return spoil


def _shifted(rng: Random, money: int) -> int:
    return money + rng.choice([-100, -1, 1, 100])


# --- wirings ----------------------------------------------------------------------------------------------------


def unplugged(rng: Random, plan: Plan) -> Plan | None:
    """Leave out one mate of a visit."""
    number = _visit(rng, plan, lambda visit: visit.wiring)
    if number is None:
        return None
    mates = sorted(plan.visits[number].wiring or ())
    return _with(plan, number, wiring=frozenset(mates) - {rng.choice(mates)})


def plugged_anywhere(rng: Random, plan: Plan) -> Plan | None:
    """Mate two plugs more."""
    number = _visit(rng, plan, lambda visit: visit.wiring and len(visit.wiring) > 1)
    if number is None:
        return None
    wiring = plan.visits[number].wiring or frozenset()
    plugs = sorted({plug for pair in wiring for plug in pair})
    pairs = [mate(x, y) for x in plugs for y in plugs if x < y]
    return _with(plan, number, wiring=wiring | {rng.choice([x for x in pairs if x not in wiring])})


def crossed(rng: Random, plan: Plan) -> Plan | None:
    """Exchange the ends of two mates."""
    number = _visit(rng, plan, lambda visit: visit.wiring and len(visit.wiring) > 1)
    if number is None:
        return None
    wiring = plan.visits[number].wiring or frozenset()
    (a, b), (c, d) = rng.sample(sorted(wiring), 2)
    crossing = {mate(a, d), mate(c, b)} if rng.random() < 0.5 else {mate(a, c), mate(b, d)}
    return _with(plan, number, wiring=(wiring - {(a, b), (c, d)}) | crossing)


def start_unplugged(rng: Random, plan: Plan) -> Plan | None:
    """Leave out one mate of the bike as it is now."""
    if not plan.start_wiring:
        return None
    return replace(plan, start_wiring=plan.start_wiring - {rng.choice(sorted(plan.start_wiring))})


def start_not_known(_: Random, plan: Plan) -> Plan | None:
    """Say that the bike as it is now cannot be wired."""
    return replace(plan, start_wiring=None) if plan.start_wiring else None


def renamed(rng: Random, plan: Plan) -> Plan | None:
    """Mate a plug that does not exist."""
    number = _visit(rng, plan, lambda visit: visit.wiring)
    if number is None:
        return None
    wiring = plan.visits[number].wiring or frozenset()
    pair = rng.choice(sorted(wiring))
    other = mate(pair[0], Node(pair[1].owner, pair[1].connector + "-2"))
    return _with(plan, number, wiring=(wiring - {pair}) | {other})


# --- builds -----------------------------------------------------------------------------------------------------


def _moved(plan: Plan, number: int, come: set[Any], gone: set[Any]) -> Plan:
    """Let parts come and go in a visit, with builds that follow."""
    visits = list(plan.visits)
    for at in range(number, len(visits)):
        visits[at] = replace(visits[at], build=(visits[at].build | come) - gone)
    return replace(plan, visits=tuple(visits))


def left_out(rng: Random, plan: Plan) -> Plan | None:
    """Leave out a part that comes in."""
    number = _visit(rng, plan, lambda visit: visit.adds)
    if number is None:
        return None
    adds = plan.visits[number].adds
    out = rng.choice(adds)
    return _moved(_with(plan, number, adds=tuple(x for x in adds if x != out)), number, set(), {out})


def kept_in(rng: Random, plan: Plan) -> Plan | None:
    """Keep a part that goes out."""
    number = _visit(rng, plan, lambda visit: visit.removes)
    if number is None:
        return None
    removes = plan.visits[number].removes
    kept = rng.choice(removes)
    return _moved(_with(plan, number, removes=tuple(x for x in removes if x != kept)), number, {kept}, set())


def taken_out(rng: Random, plan: Plan) -> Plan | None:
    """Take out a part more."""
    number = _visit(rng, plan, lambda visit: visit.build)
    if number is None:
        return None
    visit = plan.visits[number]
    gone = rng.choice(sorted(visit.build))
    return _moved(_with(plan, number, removes=(*visit.removes, gone)), number, set(), {gone})


def sooner_or_later(rng: Random, plan: Plan) -> Plan | None:
    """Do in one visit what is done in another."""
    if len(plan.visits) == 1:
        return None
    one, other = sorted(rng.sample(range(len(plan.visits)), 2))
    if plan.visits[one].is_empty and plan.visits[other].is_empty:
        return None
    names = ("adds", "removes", "presets", "lines", "spent", "resale", "stays", "changes")
    first = {name: getattr(plan.visits[one], name) for name in names}
    second = {name: getattr(plan.visits[other], name) for name in names}
    return _with(_with(plan, one, **second), other, **first)


SPOILINGS: dict[str, Spoiling] = {
    "a line is left out": _one_of("lines", lambda _, __: ()),
    "a line is there twice": _one_of("lines", lambda _, line: (line, line)),
    "a line costs something else": _one_of(
        "lines", lambda rng, x: (replace(x, total=_shifted(rng, x.total)),)
    ),
    "a line counts something else": _one_of("lines", lambda _, x: (replace(x, quantity=x.quantity + 1),)),
    "a line is sure, or is not": _one_of("lines", lambda _, x: (replace(x, assumed=not x.assumed),)),
    "a line is of another kind": _one_of(
        "lines", lambda _, x: (replace(x, kind="part" if x.kind == "labour" else "labour"),)
    ),
    "a line is about something else": _one_of("lines", lambda _, x: (replace(x, about="no-such-thing"),)),
    "a preset is left out": _one_of("presets", lambda _, __: ()),
    "a preset takes other days": _one_of("presets", lambda _, x: (replace(x, days=x.days + 1),)),
    "a preset is made by another service": _one_of(
        "presets", lambda _, x: (replace(x, service="no-such-thing"),)
    ),
    "a change is left out": _one_of("changes", lambda _, __: ()),
    "a change is said to be another": _one_of(
        "changes",
        lambda _, x: (replace(x, kind="kept" if x.kind != "kept" else "re-plugged"),),
    ),
    "a feed is left out": _one_of("feeds", lambda _, __: ()),
    "a feed comes from another channel": _one_of(
        "feeds", lambda _, x: (replace(x, channel=x.channel + "-2"),)
    ),
    "a load is another": _one_of("feeds", lambda _, x: (replace(x, load_ohm=(x.load_ohm or 0) + 1),)),
    "a plug is left out": unplugged,
    "a plug more is mated": plugged_anywhere,
    "two mates are crossed": crossed,
    "a plug has another name": renamed,
    "a plug of the start is left out": start_unplugged,
    "the start is not known": start_not_known,
    "a part does not come in": left_out,
    "a part does not go out": kept_in,
    "a part more goes out": taken_out,
    "two visits are exchanged": sooner_or_later,
    "a visit is on another day": _visit_says("on", lambda _, x: x.on + timedelta(days=1)),
    "a visit has another fitter": _visit_says(
        "fitter", lambda _, x: "home" if x.fitter == "shop" else "shop"
    ),
    "a visit spends something else": _visit_says("spent", lambda rng, x: _shifted(rng, x.spent)),
    "a visit brings something else": _visit_says("resale", lambda rng, x: _shifted(rng, x.resale)),
    "nothing stays, or too much": _visit_says("stays", lambda _, x: () if x.stays else tuple(x.build)),
    "a visit is left out": _plan_says("visits", lambda _, x: x.visits[:-1]),
    "the plan spends something else": _plan_says("spent", lambda rng, x: _shifted(rng, x.spent)),
    "the plan brings something else": _plan_says("resale", lambda rng, x: _shifted(rng, x.resale)),
    "the waste is another": _plan_says("waste", lambda rng, x: _shifted(rng, x.waste)),
    "an entry is left out": _ledger(lambda _, __: ()),
    "an entry is there twice": _ledger(lambda _, x: (x, x)),
    "an entry is paid otherwise": _ledger(lambda rng, x: (replace(x, paid=_shifted(rng, x.paid or 0)),)),
    "an entry fetches something else": _ledger(lambda rng, x: (replace(x, resale=_shifted(rng, x.resale)),)),
    "an entry stays, or does not": _ledger(lambda _, x: (replace(x, stays=not x.stays),)),
    "an entry is of another part": _ledger(lambda _, x: (replace(x, part="no-such-thing"),)),
    "an entry is of another visit": _ledger(lambda _, x: (replace(x, visit=(x.visit or 0) + 1),)),
}

NEUTRAL: dict[str, Callable[[Random, Plan], Plan]] = {
    "advice is no part of the check": lambda _, plan: replace(
        plan, visits=tuple(replace(x, advice=()) for x in plan.visits)
    ),
    "whether it is the cheapest is the search's to say": lambda _, plan: replace(
        plan, proof=replace(plan.proof, state="best_found", bound=0)
    ),
    "what was lost to missing facts too": lambda _, plan: replace(plan, lost_to_missing_facts=()),
    "lines come in any order": lambda rng, plan: _shuffled(rng, plan, "lines"),
    "placements come in any order": lambda rng, plan: _shuffled(rng, plan, "adds"),
    "changes come in any order": lambda rng, plan: _shuffled(rng, plan, "changes"),
    "entries come in any order": lambda rng, plan: replace(
        plan, ledger=tuple(rng.sample(plan.ledger, len(plan.ledger)))
    ),
}
"""What the checker does not look at, or what may come in any order."""


def _shuffled(rng: Random, plan: Plan, name: str) -> Plan:
    visits = []
    for visit in plan.visits:
        things = getattr(visit, name)
        shuffled: dict[str, Any] = {name: tuple(rng.sample(things, len(things)))}
        visits.append(replace(visit, **shuffled))
    return replace(plan, visits=tuple(visits))
