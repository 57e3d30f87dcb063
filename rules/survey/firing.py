"""Rules that say nothing, because they always hold, never hold, or are about parts that no bike takes."""

from __future__ import annotations

from collections.abc import Iterator

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.rule import (
    ChannelLimit,
    Clearance,
    Excludes,
    FlashNeeded,
    MassLimit,
    MeasuredException,
    Operation,
    Provides,
    Requires,
    Rule,
    SupplyLimit,
)
from rules.diagnostics import quote
from rules.draft import Written
from rules.kinds.clearance import clears
from rules.provides import bike_fact
from rules.survey.codes import ALWAYS_FIRES, NEVER_FIRES, NEVER_MET, UNREACHABLE_RULE
from rules.survey.ground import Ground
from rules.survey.possible import NO, YES, Outcomes, on_bench, on_bike, outcomes
from rules.tables import PartRule


def check_firing(ground: Ground) -> None:
    """Report every rule that says nothing."""
    for rule in ground.rules.values():
        match rule.what:
            case Provides():
                _check_provides(ground, rule, rule.what)
            case Operation(subject=None):
                _report_outcomes(ground, rule, [on_bike(rule.what.when, bench) for bench in ground.benches()])
            case MassLimit() | ChannelLimit() | SupplyLimit():
                _check_limit(ground, rule)
            case MeasuredException():
                _check_exception(ground, rule, rule.what)
            case _:
                _check_subject(ground, rule)


def _check_subject(ground: Ground, rule: Written[Rule]) -> None:
    subject = getattr(rule.what, "subject", None)
    if subject is None or _is_placeless(ground, rule.what):
        return
    found = list(ground.subjects(subject))
    if not found:
        message = f"no bike has a place for the parts of rule {quote(rule.what.id)}"
        ground.report(UNREACHABLE_RULE, rule.key_at("subject"), message)
        return
    reached = [on_bench(getattr(rule.what, "when", None), bench, placed) for bench, placed in found]
    if _report_outcomes(ground, rule, reached):
        return
    applied = [pair for pair, holds in zip(found, reached, strict=True) if True in holds]
    match rule.what:
        case Clearance() if not any(may_refuse(rule.what, *pair) for pair in applied):
            message = f"every part that rule {quote(rule.what.id)} is about clears every place"
            ground.report(NEVER_FIRES, rule.at("id"), message)
        case Excludes() if not any(_has_other(rule.what, *pair) for pair in applied):
            message = f"no bike takes both parts that rule {quote(rule.what.id)} keeps apart"
            ground.report(NEVER_FIRES, rule.at("id"), message)
        case Requires() | FlashNeeded() if not any(needed(rule.what, *pair) for pair in applied):
            message = f"no bike takes both what rule {quote(rule.what.id)} is about and what it needs"
            ground.report(NEVER_MET, rule.key_at("needs"), message)
        case _:
            pass


def _is_placeless(ground: Ground, rule: Rule) -> bool:
    # What has no slot is on no bike: a hold may stop a preset or a bundle from being sold.
    subject = getattr(rule, "subject", None)
    parts = ground.engine.tables.selected(subject) if subject else ()
    return any(ground.catalog.parts[part].slot is None for part in parts)


def _report_outcomes(ground: Ground, rule: Written[Rule], reached: list[Outcomes]) -> bool:
    """Report a condition that never or always holds. Tells whether it did."""
    if getattr(rule.what, "when", None) is None:
        return False
    if all(holds == NO for holds in reached):
        message = f"the condition of rule {quote(rule.what.id)} holds for no bike and part"
        ground.report(NEVER_FIRES, rule.key_at("when"), message)
        return True
    if all(holds == YES for holds in reached):
        message = (
            f"the condition of rule {quote(rule.what.id)} holds for every bike and part that it is about"
        )
        ground.report(ALWAYS_FIRES, rule.key_at("when"), message)
        return True
    return False


def _check_provides(ground: Ground, rule: Written[Rule], provides: Provides) -> None:
    bikes = list(ground.catalog.bikes.values())
    reached = [
        outcomes(provides.when, lambda name, bike=bike: bike_fact(bike, name), lambda _: False)  # type: ignore[misc]
        for bike in bikes
    ]
    _report_outcomes(ground, rule, reached)


def _check_limit(ground: Ground, rule: Written[Rule]) -> None:
    if not _has_anything_to_limit(ground, rule.what):
        message = f"nothing in the catalog is limited by rule {quote(rule.what.id)}"
        ground.report(NEVER_FIRES, rule.at("id"), message)


def _has_anything_to_limit(ground: Ground, rule: Rule) -> bool:
    parts = ground.catalog.parts.values()
    match rule:
        case ChannelLimit(limit="bridge"):
            return any(channel.bridges for part in parts for channel in part.channels)
        case ChannelLimit():
            return any(part.channels for part in parts)
        case SupplyLimit():
            needed = "supply" if rule.limit in ("charging", "idle") else "cable"
            return any(getattr(part, needed) for part in parts)
        case MassLimit(fact=None):
            return any(
                place.max_mass_kg is not None and (not rule.at or name in rule.at)
                for bench in ground.benches()
                for name, place in bench.has.places.items()
            )
        case _:
            places = getattr(rule, "at", ())
            return any(place in bench.has.places for bench in ground.benches() for place in places)


def _check_exception(ground: Ground, rule: Written[Rule], exception: MeasuredException) -> None:
    overridden = ground.catalog.rules[exception.overrides]
    found = list(_overridden(ground, exception))
    if not found:
        message = f"rule {quote(overridden.id)} is not about what rule {quote(exception.id)} says"
        ground.report(UNREACHABLE_RULE, rule.key_at("subject"), message)
        return
    applied = [pair for pair in found if True in on_bench(exception.when, *pair)]
    if not applied:
        message = f"the condition of rule {quote(exception.id)} holds for no bike and part"
        ground.report(NEVER_FIRES, rule.key_at("when"), message)
    elif exception.outcome == "allow" and not any(_may_find(overridden, *pair) for pair in applied):
        message = f"rule {quote(overridden.id)} refuses none of what rule {quote(exception.id)} allows"
        ground.report(NEVER_FIRES, rule.at("overrides"), message)


def _overridden(ground: Ground, exception: MeasuredException) -> Iterator[tuple[Bench, Placement]]:
    overridden = ground.catalog.rules[exception.overrides]
    if isinstance(overridden, PartRule):
        for bench, placed in ground.subjects(exception.subject):
            if bench.selects(overridden.subject, placed):
                yield bench, placed


def _may_find(rule: Rule, bench: Bench, placed: Placement) -> bool:
    if True not in on_bench(getattr(rule, "when", None), bench, placed):
        return False
    return may_refuse(rule, bench, placed) if isinstance(rule, Clearance) else True


def may_refuse(rule: Clearance, bench: Bench, placed: Placement) -> bool:
    """Tell whether a clearance can refuse a part at a place, or leave it open, with whatever relief."""
    if placed in bench.stock:
        return False
    own, room = bench.fact(f"part.{rule.spec}", placed), bench.fact(f"place.{rule.geometry}", placed)
    reliefs = bench.in_slot(placed.place, rule.relieved_by_slot) if rule.relieved_by_slot else frozenset()
    added = [[], *([bench.fact(f"part.{rule.relieved_by_spec}", relief)] for relief in reliefs - {placed})]
    return any(clears(rule, own, room, extra) is not True for extra in added)


def _has_other(rule: Excludes, bench: Bench, placed: Placement) -> bool:
    return rule.together_with is None or bool(excluded(rule, bench, placed))


def excluded(rule: Excludes, bench: Bench, placed: Placement) -> frozenset[Placement]:
    """Give the parts that a rule keeps apart from one, and that could be on the bike beside it."""
    if rule.together_with is None:
        return frozenset()
    others = bench.candidates(rule.together_with, placed.place if rule.same_place else None)
    return frozenset(other for other in others - {placed} if can_stand_beside(bench, placed, other))


def needed(rule: Requires | FlashNeeded, bench: Bench, placed: Placement) -> frozenset[Placement]:
    """Give the parts any one of which a rule asks for beside one."""
    return bench.candidates(rule.needs, placed.place if rule.same_place else None) - {placed}


def can_stand_beside(bench: Bench, one: Placement, other: Placement) -> bool:
    """Tell whether two parts have room in their slots."""
    slots = [bench.slot(one), bench.slot(other)]
    return slots[0] != slots[1] or bench.capacity(*slots[0]) > 1
