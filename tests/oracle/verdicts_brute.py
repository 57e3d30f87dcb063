"""Verdicts by trying every set of extras (section 4 of the definitions), to check the declarative model."""

from __future__ import annotations

from itertools import product
from typing import NamedTuple

from rules.build import Build, Placement
from rules.question import FitQuestion
from rules.verdict import Verdict
from tests.oracle.checks_brute import electrics, needing_preset, things
from tests.oracle.money_brute import bill
from tests.oracle.paths_brute import _chain, _fillings
from tests.oracle.reading import World
from tests.oracle.three import every
from tests.oracle.wirings_brute import wirings


class Judged(NamedTuple):
    """A verdict. `cost` is None where the asked part is not sold."""

    verdict: Verdict
    cost: int | None = None
    pieces: int = 0
    extras: tuple[Placement, ...] = ()
    place: str | None = None


RANK = [Verdict.FITS, Verdict.FITS_WITH, Verdict.NOT_VERIFIED, Verdict.DOES_NOT_FIT]


def judge(catalog, question: FitQuestion) -> Judged:
    """Give the verdict over all sides of a split, and over all places where none is named."""
    sides = [question.bike] if question.bike in catalog.bikes else catalog.ambiguous[question.bike].sides
    judged = [_best_place(catalog, question, side) for side in sides]
    if len({(one.verdict, one.place, one.extras) for one in judged}) > 1:
        return Judged(Verdict.NOT_VERIFIED)
    return judged[0] if len({one.cost for one in judged}) == 1 else judged[0]._replace(cost=None)


def _best_place(catalog, question: FitQuestion, bike: str) -> Judged:
    places = [question.place] if question.place else sorted(World(catalog, bike, question.found).has.places)
    judged = [judge_at(catalog, question, bike, place)._replace(place=place) for place in places]
    return min(judged, key=lambda one: (*rank(one)[:3], one.place))


def judge_at(catalog, question: FitQuestion, bike: str, place: str) -> Judged:
    """Give the verdict for a part at a place."""
    world, asked = World(catalog, bike, question.found), Placement(question.part, place)
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
    for wiring in wirings(world, build) if sound is not False else []:
        status = every([sound, electrics(world, build, wiring)])
        for made in _presets_to_make(world, build, wiring):
            if status is False or not all(world.services(one.part, question.on) for one in made):
                continue
            best = min(best, _price(world, question, asked, build, extras, made, status), key=rank)
    return best


def _price(world, question, asked, build, extras, made, status) -> Judged:
    if status is None:
        return Judged(Verdict.NOT_VERIFIED)
    if asked in world.present and not extras:
        return Judged(Verdict.FITS, 0)
    added, removed = build - world.present, world.present - build
    cost = bill(world, question.on, question.fitter, added, removed, made, path=False)
    verdict = Verdict.FITS_WITH if extras or made else Verdict.FITS
    pieces = len(extras) + len(made)
    return Judged(verdict, None if cost is None else cost.spent - cost.back, pieces, tuple(sorted(extras)))


def _presets_to_make(world: World, build: Build, wiring) -> list[set[Placement]]:
    """Give the amplifiers that want a preset made, for each present wiring that may keep one in force."""
    needing = needing_preset(world, build, wiring)
    in_force = {one for one in needing if one in world.present and one.part in world.found.presets}
    ways = [needing]
    for before in wirings(world, world.present) if in_force else []:
        same = {
            one
            for one in in_force
            if _chain(world, world.present, before, one) == _chain(world, build, wiring, one)
        }
        ways.append(needing - same)
    return ways
