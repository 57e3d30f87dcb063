"""The masses in a place, or a group of places, against its limit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from rules.build import Placement
from rules.catalog.rule import MassLimit
from rules.scene import Scene, number
from rules.verdict import Calculation, Cause, Entered, Finding, Status

if TYPE_CHECKING:
    from rules.bench import Bench

ROUNDING = 1e-9


def check(rule: MassLimit, scene: Scene) -> Iterator[Finding]:
    """Refuse a build whose parts in the rule's places weigh more than the limit [kg].

    Equation: the sum of mass_kg <= limit. A part of unknown mass leaves it open unless the known ones already
    exceed it.
    """
    for places, limit in limits(rule, scene.bench, {x.place for x in scene.build}):
        placed = [x for x in sorted(scene.build) if x.place in places]
        masses = {x: scene.bench.cause("part.mass_kg", x) for x in placed}
        finding = _weigh(rule, limit, masses)
        if finding is not None:
            yield finding


def limits(rule: MassLimit, bench: Bench, places: Iterable[str]) -> Iterator[tuple[frozenset[str], Cause]]:
    """Give the limits that a rule sets for parts in these places, each with the places whose masses count."""
    if rule.fact is not None:
        yield frozenset(rule.at or bench.has.places), bench.bike_cause(rule.fact)
        return
    for place in sorted(places):
        limit = bench.place_mass_cause(place)
        if limit is not None and (not rule.at or place in rule.at):
            yield frozenset({place}), limit


def _weigh(rule: MassLimit, limit: Cause, masses: dict[Placement, Cause]) -> Finding | None:
    most = number(limit.value)
    heavy: dict[Placement, Cause] = {}
    weight = 0.0
    # Heaviest first: the first ones that exceed the limit are a smallest set that does.
    for placed in sorted(masses, key=lambda x: (-(number(masses[x].value) or 0.0), x)):
        if most is not None and weight > most + ROUNDING:
            break
        if number(masses[placed].value):
            heavy[placed] = masses[placed]
            weight += number(masses[placed].value) or 0.0
    if most is not None and weight > most + ROUNDING:
        return _finding(rule, Status.REFUSED, limit, heavy, weight)
    unknown = {x: cause for x, cause in masses.items() if cause.is_missing}
    # Against an unknown limit any one part with mass leaves it open; against a known one, one of unknown.
    open_ones = {**heavy, **unknown} if most is None else unknown
    first = min(open_ones, default=None)
    return None if first is None else _finding(rule, Status.UNKNOWN, limit, {first: open_ones[first]}, weight)


def _finding(
    rule: MassLimit, status: Status, limit: Cause, masses: dict[Placement, Cause], weight: float
) -> Finding:
    most = number(limit.value)
    return Finding(
        rule=rule.id,
        status=status,
        present=frozenset(masses),
        causes=(*masses.values(), limit),
        calculation=None
        if most is None
        else Calculation(
            equation="mass_sum",
            inputs=tuple(
                Entered(str(x), number(cause.value) or 0.0, "kg", (cause,)) for x, cause in masses.items()
            ),
            result=weight,
            limit=most,
            unit="kg",
        ),
    )
