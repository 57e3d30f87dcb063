"""Verdicts by trying every set of extras (section 4 of the definitions), to check the declarative model."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import NamedTuple

from rules.build import Build, Placement
from rules.question import FitQuestion
from rules.verdict import Verdict
from tests.oracle.checks_brute import electrics, needing_preset, things
from tests.oracle.money_brute import Step, bill
from tests.oracle.paths_brute import _chain, _fillings
from tests.oracle.reading import MOST_PRESENT, World
from tests.oracle.steps_brute import cuts_or_pulls, moves_sides, replugged
from tests.oracle.three import every
from tests.oracle.wirings_brute import Wiring, present_wirings, wirings


class Judged(NamedTuple):
    """A verdict. `cost` is None where the asked part is not sold: then only the verdict and the place count."""

    verdict: Verdict
    cost: int | None = None
    pieces: int = 0
    extras: tuple[Placement, ...] = ()
    presets: tuple[Placement, ...] = ()
    rewires: bool = False
    place: str | None = None
    pays_replugs: bool = False
    """The cheapest bill holds re-plug labour."""
    is_split: bool = False
    """It is not verified because the bike may be wired in several ways."""


RANK = [Verdict.FITS, Verdict.FITS_WITH, Verdict.NOT_VERIFIED, Verdict.DOES_NOT_FIT]


def judge(catalog, question: FitQuestion) -> Judged:
    """Give the verdict over all sides of a split, and over all places where none is named."""
    sides = [question.bike] if question.bike in catalog.bikes else catalog.ambiguous[question.bike].sides
    judged = [_on_bike(World(catalog, side, question.found), question) for side in sides]
    if len({(one.verdict, one.place, one.extras) for one in judged}) > 1:
        return Judged(Verdict.NOT_VERIFIED, is_split=any(one.is_split for one in judged))
    return judged[0] if len({one.cost for one in judged}) == 1 else judged[0]._replace(cost=None)


def _on_bike(world: World, question: FitQuestion) -> Judged:
    """Ask once for each way in which the bike may be wired now."""
    ways = present_wirings(world)
    if len(ways) > MOST_PRESENT:
        return Judged(Verdict.NOT_VERIFIED, is_split=True)
    worlds = [replace(world, now=way.mates) for way in ways] or [world]
    judged = [_best_place(one, question) for one in worlds]
    if len({_compared(one) for one in judged}) > 1:
        return Judged(Verdict.NOT_VERIFIED, is_split=True)
    return judged[0]


def _compared(judged: Judged):
    """Give what must be the same for all present wirings."""
    named = (judged.cost, judged.extras, judged.presets, judged.rewires) if judged.cost is not None else ()
    return judged.verdict, judged.place, *named


def _best_place(world: World, question: FitQuestion) -> Judged:
    places = [question.place] if question.place else sorted(world.has.places)
    judged = [judge_at(world, question, place)._replace(place=place) for place in places]
    return min(judged, key=lambda one: (*rank(one)[:3], one.place))


def judge_at(world: World, question: FitQuestion, place: str) -> Judged:
    """Give the verdict for a part at a place."""
    asked = Placement(question.part, place)
    if not world.can_place(*asked):
        return Judged(Verdict.DOES_NOT_FIT)
    base = asked_build(world, asked)
    states = [_state(world, question, asked, base, extras) for extras in _extras(world, question, base)]
    return min(states, key=rank)


def rank(judged: Judged):
    return (
        RANK.index(judged.verdict),
        judged.cost is None,
        judged.cost or 0,
        judged.pieces,
        sorted(map(str, judged.extras)),
        sorted(map(str, judged.presets)),
        judged.rewires,
    )


def asked_build(world: World, asked: Placement) -> Build:
    """Give the present build with the part in it, and without what it displaces."""
    build, slot = world.present | {asked}, world.slot(asked)
    if sum(world.slot(one) == slot for one in build) > world.capacity(slot):
        build = frozenset(one for one in build if one == asked or world.slot(one) != slot)
    while True:
        orphans = {one for one in build - {asked} if not _has_host(world, one, build)}
        orphans = {one for one in orphans if _has_host(world, one, world.present)}
        if not orphans:
            return build
        build -= orphans


def _has_host(world: World, one: Placement, build) -> bool:
    hosts = world.part(one).host
    return not hosts or any(Placement(host, one.place) in build for host in hosts)


def _extras(world: World, question: FitQuestion, base: Build):
    slots: dict[tuple[str, str], list[Placement]] = {}
    for one in world.placeable:
        if one not in base | world.present and world.for_sale(one.part, question.on):
            slots.setdefault(world.slot(one), []).append(one)
    full = {slot: sum(world.slot(one) == slot for one in base) for slot in slots}
    choices = [
        _fillings(ones, max(0, world.capacity(slot) - full[slot]), frozenset())
        for slot, ones in slots.items()
    ]
    for choice in product(*choices):
        yield frozenset().union(*choice)


def _state(world: World, question: FitQuestion, asked: Placement, base: Build, extras: Build) -> Judged:
    """Judge one set of extras, with the wiring and the presets that serve best."""
    build = base | extras
    sound = things(world, build, build - world.present, question.on)
    best = Judged(Verdict.DOES_NOT_FIT)
    before = next(iter(present_wirings(world)), None)
    for wiring in wirings(world, build) if sound is not False else []:
        status = every([sound, electrics(world, build, wiring)])
        made = _presets_to_make(world, before, build, wiring)
        if status is False or not all(world.services(one.part, question.on) for one in made):
            continue
        if status is None:
            best = min(best, Judged(Verdict.NOT_VERIFIED), key=rank)
        elif asked in world.present and not extras:
            best = min(best, Judged(Verdict.FITS, 0), key=rank)
        else:
            judged = _price(world, question, build, before, wiring, made)
            pieces = len(extras) + len(made)
            verdict = Verdict.FITS_WITH if pieces else Verdict.FITS
            judged = judged._replace(verdict=verdict, pieces=pieces, extras=tuple(sorted(extras)))
            best = min(best, judged, key=rank)
    return best


def _price(world: World, question, build: Build, before: Wiring | None, wiring: Wiring, made) -> Judged:
    added, removed = build - world.present, world.present - build
    step = Step(added, removed, replugged(world.present, before, build, wiring))
    cost = bill(world, question.on, question.fitter, step, made, path=False)
    rewires = bool(cuts_or_pulls(world, world.present, build)) or moves_sides(
        world, world.present, before, build, wiring
    )
    return Judged(
        Verdict.FITS,
        None if cost is None else cost.spent - cost.back,
        presets=tuple(sorted(made)),
        rewires=rewires,
        pays_replugs=cost is not None and any(world.rule(x.operation).action == "replug" for x in cost.work),
    )


def _presets_to_make(world: World, before: Wiring | None, build: Build, wiring: Wiring) -> set[Placement]:
    """Give the amplifiers that want a preset made: those whose chain is not the one that it was made for."""
    needing = needing_preset(world, build, wiring)
    in_force = {one for one in needing if one in world.present and one.part in world.found.presets}
    if before is None:
        return needing
    return {
        one
        for one in needing
        if one not in in_force
        or _chain(world, world.present, before, one) != _chain(world, build, wiring, one)
    }
