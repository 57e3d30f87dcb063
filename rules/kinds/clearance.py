"""A dimension of a part against a dimension of its place."""

from __future__ import annotations

from collections.abc import Iterator

from rules.build import Placement
from rules.catalog.facts import Unknown, Value
from rules.catalog.rule import Clearance
from rules.scene import Scene, number
from rules.verdict import Calculation, Cause, Entered, Finding, Status

# Dimensions are written in tenths of a millimetre at best; this only absorbs binary rounding of such sums.
ROUNDING = 1e-9

Recorded = Value | Unknown | None
"""A fact as it is recorded; None: not at all."""


def check(rule: Clearance, scene: Scene, placed: Placement) -> Iterator[Finding]:
    """Refuse a part that does not clear its place; unknown if either dimension is.

    What left the works there is not asked.

    Equation: at_most s + m <= g; at_least s >= g + m; equals |s - g| <= m, with g the place's dimension plus
    what relieving parts add.
    """
    guard = scene.guard(rule.when, placed)
    if guard.holds is False or placed in scene.bench.stock:
        return
    relief = (
        [x for x in scene.at(placed.place, rule.relieved_by_slot) if x != placed]
        if rule.relieved_by_slot
        else []
    )
    own = scene.bench.cause(f"part.{rule.spec}", placed)
    room = scene.bench.cause(f"place.{rule.geometry}", placed)
    added = [scene.bench.cause(f"part.{rule.relieved_by_spec}", x) for x in relief]
    verdict = clears(rule, own.value, room.value, [cause.value for cause in added])
    if verdict is True:
        return
    others = _other_relief(rule, scene, placed)
    yield Finding(
        rule=rule.id,
        status=Status.REFUSED if verdict is False and guard.holds else Status.UNKNOWN,
        present=frozenset({placed, *relief}) | guard.present,
        repairs=guard.repairs | others,
        futile=_too_little(rule, scene, placed, others) - guard.repairs if others else others,
        causes=(own, room, *added, *guard.causes),
        calculation=_calculation(rule, own, room, added),
    )


def _other_relief(rule: Clearance, scene: Scene, placed: Placement) -> frozenset[Placement]:
    if rule.relieved_by_slot is None:
        return frozenset()
    return scene.bench.in_slot(placed.place, rule.relieved_by_slot) - scene.build


def _too_little(
    rule: Clearance, scene: Scene, placed: Placement, others: frozenset[Placement]
) -> frozenset[Placement]:
    """Give the relieving parts that are known not to do: there is no room for them beside another, or they add too little."""
    bench, slot = scene.bench, rule.relieved_by_slot or ""
    if bench.capacity(placed.place, slot) > 1:
        return frozenset()
    if next(scene.at(placed.place, slot), None) is not None:
        return others
    own, room = bench.fact(f"part.{rule.spec}", placed), bench.fact(f"place.{rule.geometry}", placed)
    key = (rule.id, placed.place, str(own), str(room))
    if key not in bench.too_little:
        adding = bench.tables.by_figure(bench.in_slot(placed.place, slot), rule.relieved_by_spec or "")
        bench.too_little[key] = frozenset[Placement]().union(
            *(parts for figure, parts in adding if clears(rule, own, room, [figure]) is False)
        )
    return bench.too_little[key]


def clears(rule: Clearance, own: Recorded, room: Recorded, added: list[Recorded]) -> bool | None:
    """Tell whether a dimension clears its place's with what relieving parts add; None if one of them is not known."""
    size, space = number(own), number(room)
    extra = [number(value) for value in added]
    if size is None or space is None or None in extra:
        return None
    spare = space + sum(x for x in extra if x is not None) - size
    if rule.relation == "at_most":
        return spare >= rule.margin - ROUNDING
    if rule.relation == "at_least":
        return -spare >= rule.margin - ROUNDING
    return abs(spare) <= rule.margin + ROUNDING


def _calculation(rule: Clearance, own: Cause, room: Cause, added: list[Cause]) -> Calculation | None:
    size, space = number(own.value), number(room.value)
    extra = [number(cause.value) for cause in added]
    if size is None or space is None or None in extra:
        return None
    relief, unit = sum(x for x in extra if x is not None), rule.spec.rsplit("_", 1)[-1]
    relieved = (Entered("relief", relief, unit, tuple(added)),) if rule.relieved_by_slot else ()
    return Calculation(
        equation=f"clearance_{rule.relation}",
        inputs=(
            Entered(rule.spec, size, unit, (own,)),
            Entered("margin", rule.margin, unit),
            Entered(f"place_{rule.geometry}", space, unit, (room,)),
            *relieved,
        ),
        result=size,
        limit=space + relief,
        unit=unit,
    )
