"""Checks of a build that need no wiring: slots, carriers, hosts, the rules about parts, masses, previous work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from fractions import Fraction

from rules.build import Build, Placement
from rules.catalog.condition import Condition, Fitted
from rules.catalog.rule import (
    Clearance,
    FlashNeeded,
    MassLimit,
    MeasuredException,
    Requires,
)
from rules.checker.fault import Breaks, Clause
from rules.checker.figures import exact
from rules.checker.index import PartRule
from rules.checker.three import Three, all_of, any_of, not_
from rules.checker.when import is_met
from rules.checker.world import World, known

_CLAUSES: dict[str, Clause] = {
    "clearance": Clause.CLEARANCE,
    "requires": Clause.REQUIRES,
    "flash_needed": Clause.FLASH_NEEDED,
    "excludes": Clause.EXCLUDES,
}


def check_things(world: World, build: Build) -> Breaks:
    """Name everything that is wrong with a build, wiring aside; what nobody knows is wrong too."""
    yield from _slots(world, build)
    for placed in sorted(build):
        yield from _on_its_own(world, build, placed)
        yield from _rules(world, build, placed)
    yield from _masses(world, build)


def _slots(world: World, build: Build) -> Breaks:
    for (place, slot), count in sorted(Counter(world.slot(x) for x in build).items()):
        vocabulary = world.index.catalog.places.get(place)
        if count > (vocabulary.slots.get(slot, 0) if vocabulary else 0):
            yield Clause.SLOT, f"{place}.{slot}"


def _on_its_own(world: World, build: Build, placed: Placement) -> Breaks:
    part = world.part(placed)
    beside = [x for x in build if x.place == placed.place]
    needed = known(world.place(placed).carrier_needed)
    if part.slot != "carrier" and needed is not False and not any(_is_carrier(world, x) for x in beside):
        yield Clause.CARRIER, str(placed)
    if part.host and not any(x.part in part.host for x in beside):
        yield Clause.HOST, str(placed)
    if placed.place in world.found.unknown_work and placed not in world.present:
        yield Clause.UNKNOWN_WORK, str(placed)


def _is_carrier(world: World, placed: Placement) -> bool:
    return world.part(placed).slot == "carrier"


# --- rules about parts ------------------------------------------------------------------------------------------


def _rules(world: World, build: Build, placed: Placement) -> Breaks:
    for rule in world.rules_on(placed).checks:
        if rule.subject.at and placed.place not in rule.subject.at:
            continue
        verdict, clause = _judge(world, build, rule, placed), _CLAUSES[rule.kind]
        for exception in world.index.exceptions.get(rule.id, ()):
            if world.means(exception.subject, placed):
                is_refusal = exception.outcome == "refuse"
                clause = Clause.MEASURED_EXCEPTION if is_refusal and verdict is True else clause
                verdict = _excepted(world, build, exception, placed, verdict)
        if verdict is not True:
            yield clause, f"{rule.id} {placed}"


def _excepted(
    world: World, build: Build, exception: MeasuredException, placed: Placement, verdict: Three
) -> Three:
    applies = _applies(world, build, exception.when, placed)
    if exception.outcome == "allow":
        return any_of([applies, verdict])
    return all_of([not_(applies), verdict])


def _applies(world: World, build: Build, when: Condition | None, placed: Placement) -> Three:
    def is_fitted(asked: Fitted) -> bool:
        return world.is_beside(asked.fitted, placed, build, same_place=asked.same_place)

    return is_met(when, world.fact_of(placed), is_fitted)


def _judge(world: World, build: Build, rule: PartRule, placed: Placement) -> Three:
    """Tell whether a part passes a rule: where its condition does not hold, it does."""
    applies = _applies(world, build, rule.when, placed)
    if applies is False:
        return True
    passes: Three
    match rule:
        case Clearance():
            passes = placed in world.stock or _clears(world, build, rule, placed)
        case Requires():
            passes = world.is_beside(rule.needs, placed, build, same_place=rule.same_place)
        case FlashNeeded():
            passes = world.is_beside(rule.needs, placed, build, same_place=True)
        case _:
            passes = rule.together_with is not None and not world.is_beside(
                rule.together_with, placed, build, same_place=rule.same_place
            )
    return any_of([not_(applies), passes])


def _clears(world: World, build: Build, rule: Clearance, placed: Placement) -> Three:
    size = _number(world.part_fact(placed, rule.spec))
    room = [_number(world.fact(f"place.{rule.geometry}", placed))]
    if rule.relieved_by_slot and rule.relieved_by_spec:
        slot = placed.place, rule.relieved_by_slot
        relief = [x for x in build if world.slot(x) == slot]
        room += [_number(world.part_fact(x, rule.relieved_by_spec)) for x in relief]
    space = _sum(room)
    if size is None or space is None:
        return None
    margin = exact(rule.margin)
    if rule.relation == "at_most":
        return size + margin <= space
    return size >= space + margin if rule.relation == "at_least" else abs(size - space) <= margin


def _number(value: object) -> Fraction | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return exact(value)


def _sum(values: Iterable[Fraction | None]) -> Fraction | None:
    total = Fraction(0)
    for value in values:
        if value is None:
            return None
        total += value
    return total


# --- masses -----------------------------------------------------------------------------------------------------


def _masses(world: World, build: Build) -> Breaks:
    for rule in world.index.rules(MassLimit):
        places = [place for place in world.has.places if not rule.at or place in rule.at]
        if rule.fact is not None:
            if not _bears(world, build, places, world.bike_fact(rule.fact)):
                yield Clause.MASS, rule.id
            continue
        for place in places:
            limit = world.has.places[place].max_mass_kg
            if limit is not None and not _bears(world, build, [place], known(limit)):
                yield Clause.MASS, f"{rule.id} {place}"


def _bears(world: World, build: Build, places: list[str], limit: object) -> bool:
    """Tell whether all that stands in these places is known to weigh at most the limit [kg]."""
    masses = [_number(known(world.part(x).mass_kg)) for x in build if x.place in places]
    total, most = _sum(masses), _number(limit)
    if most is None:
        return all(mass == 0 for mass in masses)
    return total is not None and total <= most
