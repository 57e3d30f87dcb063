"""What amplifiers draw, against the fuse, the cable and the charging system."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.catalog.part import Channel
from rules.catalog.rule import SupplyLimit
from rules.electrical.load import exact
from rules.electrical.supply import cruise_current, voltage_drop
from rules.scene import Scene, number
from rules.verdict import Calculation, Cause, Entered, Finding, Status

Draws = Mapping[Placement, Cause]
"""What each amplifier on one kit draws [A], or asks for as a fuse."""

Exceeds = Callable[[Fraction, bool], bool]
"""Tells whether a sum of draws is too much; and whether it is the sum of all, or can still grow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplied:
    """One power kit with the amplifiers that are mated to it."""

    kit: Placement
    amplifiers: tuple[Placement, ...]


def check_kit(rule: SupplyLimit, scene: Scene, supplied: Supplied) -> Iterator[Finding]:
    """Refuse a power kit whose fuse, cable or voltage drop does not suit the amplifiers on it."""
    if rule.limit not in ("fuse", "ampacity", "voltage_drop"):
        return
    figure = "fuse_a" if rule.limit == "fuse" else "full_a"
    draws = {amplifier: scene.bench.cause(f"part.{figure}", amplifier) for amplifier in supplied.amplifiers}
    if rule.limit == "voltage_drop":
        finding = _drop(rule, scene, supplied.kit, draws)
    else:
        finding = _current(rule, scene, supplied.kit, draws)
    if finding is not None:
        yield finding


def may_grow_into_fuse(rule: SupplyLimit, scene: Scene, supplied: Supplied) -> bool:
    """Tell whether a kit has a larger fuse than its amplifiers ask for, so that one more amplifier could make it right."""
    bag = scene.bench.cause("part.fuses_a", supplied.kit).value
    if rule.limit != "fuse" or not isinstance(bag, tuple):
        return False
    asked = (number(scene.bench.cause("part.fuse_a", x).value) for x in supplied.amplifiers)
    total = sum((exact(x) for x in asked if x is not None), Fraction(0))
    return any(exact(float(fuse)) > total for fuse in bag)


def _current(rule: SupplyLimit, scene: Scene, kit: Placement, draws: Draws) -> Finding | None:
    ampacity = scene.bench.cause("part.ampacity_a", kit)
    most = number(ampacity.value)
    if most is not None:
        over = _hungriest(draws, lambda total, _: total > exact(most))
        if over is not None:
            return _finding(rule, Status.REFUSED, kit, over, (ampacity,), _sum(rule, over, most))
    if rule.limit == "fuse":
        bag = scene.bench.cause("part.fuses_a", kit)
        unfused = _unfused(draws, bag)
        if unfused is not None:
            return _finding(rule, Status.REFUSED, kit, unfused, (bag,))
    return _open(rule, kit, draws, (ampacity,), None if most is None else _sum(rule, draws, most))


def _unfused(draws: Draws, bag: Cause) -> Draws | None:
    """Give the fewest draws for which the bag has no fuse.

    Either even its largest is too small, or none is what all together ask for.
    """
    if not isinstance(bag.value, tuple):
        return None
    fuses = [exact(float(fuse)) for fuse in bag.value]
    # While a figure is missing the sum can only grow: some fuse in the bag must still be larger.
    return _hungriest(
        draws, lambda total, is_all: total not in fuses if is_all else all(fuse <= total for fuse in fuses)
    )


def _drop(rule: SupplyLimit, scene: Scene, kit: Placement, draws: Draws) -> Finding | None:
    length, area = scene.bench.cause("part.length_m", kit), scene.bench.cause("part.area_mm2", kit)
    metres, square, most = number(length.value), number(area.value), rule.most
    if metres is None or square is None or most is None:
        return _finding(rule, Status.UNKNOWN, kit, draws, (length, area))
    over = _hungriest(draws, lambda total, _: voltage_drop(float(total), metres, square) > exact(most))
    if over is not None:
        return _finding(rule, Status.REFUSED, kit, over, (length, area), _lost(over, length, area, most))
    return _open(rule, kit, draws, (length, area), _lost(draws, length, area, most))


def _hungriest(draws: Draws, exceeds: Exceeds) -> Draws | None:
    """Give the hungriest amplifiers that exceed a limit without the others: a smallest set that does.

    None if all together do not.
    """
    known = {x: exact(ampere) for x, cause in draws.items() if (ampere := number(cause.value)) is not None}
    taken: dict[Placement, Cause] = {}
    total = Fraction(0)
    for amplifier in sorted(known, key=lambda x: (-known[x], x)):
        taken[amplifier] = draws[amplifier]
        total += known[amplifier]
        if exceeds(total, len(taken) == len(draws)):
            return taken
    return None


def _open(
    rule: SupplyLimit,
    kit: Placement,
    draws: Draws,
    limits: tuple[Cause, ...],
    calculation: Calculation | None,
) -> Finding | None:
    if any(cause.is_missing for cause in (*draws.values(), *limits)):
        return _finding(rule, Status.UNKNOWN, kit, draws, limits, calculation)
    return None


def _finding(
    rule: SupplyLimit,
    status: Status,
    kit: Placement,
    draws: Draws,
    limits: tuple[Cause, ...],
    calculation: Calculation | None = None,
) -> Finding:
    return Finding(
        rule=rule.id,
        status=status,
        present=frozenset({kit, *draws}),
        causes=tuple(dict.fromkeys((*draws.values(), *limits))),
        calculation=calculation,
    )


def _total(draws: Draws) -> Fraction:
    return sum((exact(number(cause.value) or 0.0) for cause in draws.values()), Fraction(0))


def _sum(rule: SupplyLimit, draws: Draws, most: float) -> Calculation:
    return Calculation(
        equation=f"sum_{rule.limit}",
        inputs=tuple(
            Entered(str(x), number(cause.value) or 0.0, "a", (cause,)) for x, cause in draws.items()
        ),
        result=float(_total(draws)),
        limit=most,
        unit="a",
    )


def _lost(draws: Draws, length: Cause, area: Cause, most: float) -> Calculation:
    metres, square = number(length.value) or 0.0, number(area.value) or 0.0
    total = float(_total(draws))
    return Calculation(
        equation="voltage_drop",
        inputs=(
            Entered("current_a", total, "a", tuple(draws.values())),
            Entered("length_m", metres, "m", (length,)),
            Entered("area_mm2", square, "mm2", (area,)),
        ),
        result=float(voltage_drop(total, metres, square)),
        limit=most,
        unit="v",
    )


def check_charging(rule: SupplyLimit, scene: Scene) -> Iterator[Finding]:
    """Refuse a build whose amplifiers draw more at cruise than the bike has spare; at idle, caution only."""
    if rule.limit not in ("charging", "idle"):
        return
    amplifiers = [x for x in sorted(scene.build) if scene.bench.part(x).kind == "amplifier"]
    if not amplifiers:
        return
    limit = scene.bench.bike_cause(f"{'charging' if rule.limit == 'charging' else 'idle'}_headroom_a")
    draws = {x: _cruise(scene, x) for x in amplifiers}
    finding = _charge(rule, scene, limit, draws)
    if finding is not None:
        yield finding


def _charge(
    rule: SupplyLimit, scene: Scene, limit: Cause, draws: dict[Placement, Fraction | None]
) -> Finding | None:
    most = number(limit.value)
    known = {x: draw for x, draw in draws.items() if draw is not None}
    taken: dict[Placement, Fraction] = {}
    # Hungriest first: the first ones that exceed the headroom are a smallest set that does.
    for amplifier in sorted(known, key=lambda x: (-known[x], x)):
        taken[amplifier] = known[amplifier]
        if most is not None and sum(taken.values()) > exact(most):
            status = Status.REFUSED if rule.limit == "charging" else Status.CAUTION
            return _charging_finding(rule, scene, status, taken, limit)
    if rule.limit == "charging" and (most is None or len(known) < len(draws)):
        blamed = min(draws if most is None else draws.keys() - known.keys())
        return _charging_finding(rule, scene, Status.UNKNOWN, {blamed: draws[blamed]}, limit)
    return None


def _charging_finding(
    rule: SupplyLimit, scene: Scene, status: Status, draws: Mapping[Placement, Fraction | None], limit: Cause
) -> Finding:
    most = number(limit.value)
    figures = [cause for x in draws for cause in _figures(scene, x)]
    amperes = {x: float(draw or 0) for x, draw in draws.items()}
    return Finding(
        rule=rule.id,
        status=status,
        present=frozenset(draws),
        causes=tuple(dict.fromkeys((*figures, limit))),
        calculation=None
        if most is None or None in draws.values()
        else Calculation(
            equation="cruise_current",
            inputs=tuple(
                Entered(str(x), ampere, "a", tuple(_figures(scene, x))) for x, ampere in amperes.items()
            ),
            result=float(sum(draw or 0 for draw in draws.values())),
            limit=most,
            unit="a",
        ),
    )


def _figures(scene: Scene, amplifier: Placement) -> Iterator[Cause]:
    """Give everything that an amplifier's current at cruise is worked out from."""
    for name in ("idle_a", "efficiency"):
        yield scene.bench.cause(f"part.{name}", amplifier)
    part = scene.bench.part(amplifier)
    for channel in _unbridged(scene, amplifier):
        watts = channel.watts if isinstance(channel.watts, Unknown) else "rated table"
        yield Cause(fact=f"part.channels.{channel.id}.watts", of=part.id, value=watts, source=part.source)


def _unbridged(scene: Scene, amplifier: Placement) -> list[Channel]:
    # A bridged channel is made of others, whose power counts already.
    return [channel for channel in scene.bench.part(amplifier).channels if not channel.bridges]


def _cruise(scene: Scene, amplifier: Placement) -> Fraction | None:
    idle = number(scene.bench.cause("part.idle_a", amplifier).value)
    efficiency = number(scene.bench.cause("part.efficiency", amplifier).value)
    watts = [channel.watts for channel in _unbridged(scene, amplifier)]
    rated = [exact(x[max(x, key=float)]) for x in watts if not isinstance(x, Unknown)]
    if idle is None or efficiency is None or len(rated) < len(watts):
        return None
    return cruise_current(sum(rated, Fraction(0)), efficiency, idle)
