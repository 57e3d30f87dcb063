"""Rules that cannot all be kept: each with a witness, a bike and parts on which they say the opposite."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.condition import Condition
from rules.catalog.rule import Excludes, FlashNeeded, MeasuredException, Requires
from rules.diagnostics import names, quote
from rules.provides import CONTRADICTION
from rules.survey.codes import CONTRADICTING_RULES, STOCK_REFUSED
from rules.survey.firing import can_stand_beside, excluded, needed
from rules.survey.ground import Ground
from rules.survey.possible import NEITHER, YES, on_bench
from rules.tables import rules_of_kind
from rules.verdict import Status

Needing = Requires | FlashNeeded


def check_contradictions(ground: Ground) -> None:
    """Report every pair of rules that cannot both be kept, and rules that refuse a bike as it left the works."""
    _check_exceptions(ground)
    for rule in ground.catalog.rules.values():
        if isinstance(rule, Requires | FlashNeeded):
            _check_kept_apart(ground, rule)
    _check_one_slot(ground)
    _check_stock(ground)


def holds_for_sure(when: Condition | None, bench: Bench, placed: Placement) -> bool:
    """Tell whether recorded facts alone make a condition true, whatever is fitted."""
    return on_bench(when, bench, placed, NEITHER) == YES


def _check_exceptions(ground: Ground) -> None:
    exceptions = rules_of_kind(ground.catalog, MeasuredException)
    for one, other in combinations(exceptions, 2):
        if one.overrides == other.overrides and one.outcome != other.outcome:
            witness = next(_both(ground, one, other), None)
            if witness is not None:
                bench, placed = witness
                place = ground.rules[one.id].at("outcome").place
                message = (
                    f"rules {quote(other.id)} and {quote(one.id)} at {place} say the opposite: "
                    f"bike {quote(bench.bike.id)}, part {quote(placed.part)} at {quote(placed.place)}"
                )
                ground.report(CONTRADICTION, ground.rules[other.id].at("outcome"), message)


def _both(
    ground: Ground, one: MeasuredException, other: MeasuredException
) -> Iterator[tuple[Bench, Placement]]:
    for bench, placed in ground.subjects(one.subject):
        if (
            bench.selects(other.subject, placed)
            and True in on_bench(one.when, bench, placed, NEITHER)
            and True in on_bench(other.when, bench, placed, NEITHER)
        ):
            yield bench, placed


def _check_kept_apart(ground: Ground, rule: Needing) -> None:
    """Report that everything which a rule asks for is kept apart from what asks for it."""
    for bench, placed in ground.subjects(rule.subject):
        found = needed(rule, bench, placed) if holds_for_sure(rule.when, bench, placed) else frozenset()
        barred = {other: _bar(bench, placed, other) for other in sorted(found)}
        if barred and all(barred.values()):
            other, bar = next((other, bar) for other, bar in barred.items() if bar)
            place = ground.rules[bar.id].at("id").place
            message = (
                f"rule {quote(bar.id)} at {place} keeps apart what rule {quote(rule.id)} asks for: "
                f"bike {quote(bench.bike.id)}, part {quote(placed.part)} at {quote(placed.place)} "
                f"with {quote(other.part)}"
            )
            ground.report(CONTRADICTING_RULES, ground.rules[rule.id].key_at("needs"), message)
            return


def _bar(bench: Bench, one: Placement, other: Placement) -> Excludes | None:
    """Give a rule that keeps two parts apart on a bike, whatever else is fitted."""
    for first, second in ((one, other), (other, one)):
        for rule in bench.tables.part_rules[first.part]:
            if (
                isinstance(rule, Excludes)
                and bench.selects(rule.subject, first)
                and second in excluded(rule, bench, first)
                and holds_for_sure(rule.when, bench, first)
            ):
                return rule
    return None


def _check_one_slot(ground: Ground) -> None:
    """Report two rules that ask for two parts beside one, where only one of them has room."""
    seen: set[tuple[str, str]] = set()
    for bench in ground.benches():
        for placed in sorted(bench.universe):
            rules = [
                (rule, found)
                for rule in bench.tables.part_rules[placed.part]
                if isinstance(rule, Needing)
                and bench.selects(rule.subject, placed)
                and holds_for_sure(rule.when, bench, placed)
                and (found := needed(rule, bench, placed))
            ]
            for (one, these), (other, those) in combinations(rules, 2):
                if (one.id, other.id) not in seen and _have_no_room(bench, these, those):
                    seen.add((one.id, other.id))
                    _report_one_slot(ground, bench, placed, one, other)


def _have_no_room(bench: Bench, these: frozenset[Placement], those: frozenset[Placement]) -> bool:
    return not any(one == other or can_stand_beside(bench, one, other) for one in these for other in those)


def _report_one_slot(ground: Ground, bench: Bench, placed: Placement, one: Needing, other: Needing) -> None:
    place = ground.rules[one.id].at("id").place
    message = (
        f"rules {quote(other.id)} and {quote(one.id)} at {place} ask for two parts in one slot: "
        f"bike {quote(bench.bike.id)}, part {quote(placed.part)} at {quote(placed.place)}"
    )
    ground.report(CONTRADICTING_RULES, ground.rules[other.id].key_at("needs"), message)


def _check_stock(ground: Ground) -> None:
    for bike in ground.bikes:
        desk = ground.desk(bike)
        for finding in desk.examiner.examine(desk.bench.present).findings:
            rule = ground.rules.get(finding.rule)
            if finding.status is Status.REFUSED and rule is not None:
                parts = names(sorted(x.part for x in finding.present))
                message = (
                    f"rule {quote(finding.rule)} refuses bike {quote(bike)} as it left the works: {parts}"
                )
                ground.report(STOCK_REFUSED, rule.at("id"), message)
