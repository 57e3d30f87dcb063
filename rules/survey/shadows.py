"""Rules that another rule hides: wherever one of them refuses, the other does so anyway."""

from __future__ import annotations

from itertools import permutations

from rules.bench import Bench
from rules.build import Placement
from rules.catalog.condition import Condition, Fitted
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Hold, MeasuredException, Requires, RuleEntry
from rules.conditions import leaves
from rules.diagnostics import quote
from rules.survey.codes import SHADOWED_RULE
from rules.survey.firing import excluded, needed
from rules.survey.ground import Ground
from rules.survey.possible import NO, YES, on_bench

Shadowing = Clearance | Requires | Excludes | FlashNeeded | MeasuredException | Hold
Spot = tuple[Bench, Placement]


def check_shadows(ground: Ground) -> None:
    """Report every rule that another one hides; of two that say the same, the later by id."""
    rules = [rule for rule in ground.catalog.rules.values() if isinstance(rule, Shadowing)]
    spots = {rule.id: _spots(ground, rule) for rule in rules}
    hidden: set[str] = set()
    for rule, other in permutations(sorted(rules, key=lambda rule: rule.id, reverse=True), 2):
        if rule.id in hidden or other.id in hidden or not _are_alike(rule, other):
            continue
        if spots[rule.id] and _is_hidden(rule, other, spots[rule.id], spots[other.id]):
            hidden.add(rule.id)
            written = ground.rules[other.id].at("id").place
            message = (
                f"wherever rule {quote(rule.id)} applies, rule {quote(other.id)} at {written} does so too"
            )
            ground.report(SHADOWED_RULE, ground.rules[rule.id].at("id"), message)


def _spots(ground: Ground, rule: RuleEntry) -> dict[tuple[str, Placement], Spot]:
    """Give where a rule can apply, by bike and placement."""
    return {
        (bench.bike.id, placed): (bench, placed)
        for bench, placed in ground.subjects(rule.subject)  # type: ignore[attr-defined]
        if on_bench(_when(rule), bench, placed) != NO
    }


def _are_alike(rule: Shadowing, other: Shadowing) -> bool:
    """Tell whether two rules say the same kind of thing, before it is asked of which parts."""
    match rule, other:
        case Clearance(), Clearance():
            return _dimensions(rule) == _dimensions(other) and rule.margin <= other.margin
        case MeasuredException(), MeasuredException():
            return (rule.overrides, rule.outcome) == (other.overrides, other.outcome)
        case Hold(), Hold():
            return other.first <= rule.first and _ends_later(other, rule)
        case (Excludes(), Excludes()) | (Requires(), Requires()) | (FlashNeeded(), FlashNeeded()):
            return True
        case _:
            return False


def _dimensions(rule: Clearance) -> tuple[object, ...]:
    equal_margin = rule.margin if rule.relation == "equals" else None
    return (
        rule.spec,
        rule.relation,
        rule.geometry,
        rule.relieved_by_slot,
        rule.relieved_by_spec,
        equal_margin,
    )


def _ends_later(one: Hold, other: Hold) -> bool:
    return one.last is None or (other.last is not None and one.last >= other.last)


def _is_hidden(
    rule: Shadowing,
    other: Shadowing,
    spots: dict[tuple[str, Placement], Spot],
    by: dict[tuple[str, Placement], Spot],
) -> bool:
    return all(
        key in by and _holds_too(_when(rule), _when(other), *spot) and _refuses_too(rule, other, *spot)
        for key, spot in spots.items()
    )


def _holds_too(when: Condition | None, other: Condition | None, bench: Bench, placed: Placement) -> bool:
    """Tell whether the other condition holds wherever the first does; in doubt it does not."""
    if other is None or other == when or on_bench(other, bench, placed) == YES:
        return True
    # Where facts alone decide and all are recorded, both are either true or false here.
    both = (when, other)
    if any(condition is None or any(isinstance(x, Fitted) for x in leaves(condition)) for condition in both):
        return False
    return on_bench(when, bench, placed) == NO


def _refuses_too(rule: Shadowing, other: Shadowing, bench: Bench, placed: Placement) -> bool:
    match rule, other:
        case Excludes(), Excludes():
            if other.together_with is None:
                return True
            return rule.together_with is not None and excluded(rule, bench, placed) <= excluded(
                other, bench, placed
            )
        case (Requires() | FlashNeeded(), Requires() | FlashNeeded()):
            return needed(other, bench, placed) <= needed(rule, bench, placed)
        case _:
            return True


def _when(rule: RuleEntry) -> Condition | None:
    return getattr(rule, "when", None)
