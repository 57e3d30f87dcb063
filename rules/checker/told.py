"""What a visit tells of its wires: each connection's change, what feeds what, what stays. It must be what is done."""

from __future__ import annotations

from collections import Counter

from rules.answer import Visit
from rules.build import Build
from rules.checker.fault import Breaks, Clause
from rules.checker.loads import load_of
from rules.checker.plugs import Mate, Wired, named
from rules.checker.steps import Step, rewired_parts
from rules.checker.world import World

NEAR_OHM = 0.001
"""Loads are told rounded to thousandths of an ohm."""


def check_told(world: World, visit: Visit, step: Step, wired: Wired, last: Build) -> Breaks:
    """Compare what a visit tells with what it does."""
    if Counter(visit.stays) != Counter(x for x in visit.adds if x in last):
        yield Clause.STAYS_TOLD, "what stays"
    yield from _feeds(world, visit, wired)
    yield from _changes(world, visit, step)


def _feeds(world: World, visit: Visit, wired: Wired) -> Breaks:
    due = {
        (sink.speaker.place, sink.side, sink.speaker.part, feed.source, feed.channel.id)
        for sink, feed in wired.feeds.items()
    }
    told = {(x.place, x.side, x.speaker, x.source, x.channel) for x in visit.feeds}
    for place, side, *_ in sorted(due ^ told):
        yield Clause.FEEDS_TOLD, f"{place}:{side}"
    if len(visit.feeds) != len(told):
        yield Clause.FEEDS_TOLD, "a speaker is told twice"
    for feed in visit.feeds:
        load = load_of(world, wired, feed.source, feed.channel)
        if (load is None) != (feed.load_ohm is None) or abs(
            float(load or 0) - (feed.load_ohm or 0)
        ) > NEAR_OHM:
            yield Clause.LOAD_TOLD, f"{feed.source}:{feed.channel}"


def _changes(world: World, visit: Visit, step: Step) -> Breaks:
    told: dict[str, set[str]] = {}
    for change in visit.changes:
        about = change.first if change.kind == "rewired" else _pair(change.first, change.second)
        told.setdefault(change.kind, set()).add(about)
    new = step.new - step.old
    yield from _differing("kept", _names(step.new & step.old), told)
    yield from _differing("inserted", _names(step.inserted), told)
    yield from _differing("re-plugged", _names(step.replugged), told)
    plain = told.get("connected", set()) | told.get("extracted", set())
    yield from _differing("connected", _names(new - step.inserted - step.replugged), {"connected": plain})
    due = {str(placed) for placed in rewired_parts(world, step.before, step.after)}
    yield from _differing("rewired", due, told)
    lost = _names(step.old - step.new)
    released = told.get("released", set())
    if not released <= lost or not lost - released <= _names(step.split):
        yield Clause.CHANGES_TOLD, "released"


def _differing(kind: str, due: set[str], told: dict[str, set[str]]) -> Breaks:
    for about in sorted(due ^ told.get(kind, set())):
        yield Clause.CHANGES_TOLD, f"{kind}: {about}"


def _names(mates: frozenset[Mate]) -> set[str]:
    return {named(mate) for mate in mates}


def _pair(first: str, second: str) -> str:
    return " = ".join(sorted((first, second)))
