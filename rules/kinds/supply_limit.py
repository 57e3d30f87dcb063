"""What amplifiers draw, against the fuse, the cable and the charging system."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.catalog.part import Cable, Part
from rules.catalog.rule import SupplyLimit
from rules.electrical.load import exact
from rules.electrical.supply import cruise_current, voltage_drop
from rules.scene import Scene, number
from rules.verdict import Calculation, Cause, Finding, Status


@dataclass(frozen=True, slots=True, kw_only=True)
class Supplied:
    """One power kit with the amplifiers that are mated to it."""

    kit: Placement
    amplifiers: tuple[Placement, ...]


def check_kit(rule: SupplyLimit, scene: Scene, supplied: Supplied) -> Iterator[Finding]:
    """Refuse a power kit whose fuse, cable or voltage drop does not suit the amplifiers on it."""
    if rule.limit not in ("fuse", "ampacity", "voltage_drop"):
        return
    cable = scene.bench.part(supplied.kit).cable
    assert cable is not None  # noqa: S101 - only parts with a cable are power kits
    figure = "fuse_a" if rule.limit == "fuse" else "full_a"
    draws = [scene.bench.cause(f"part.{figure}", amplifier) for amplifier in supplied.amplifiers]
    limits = _limits(rule, scene, supplied.kit)
    verdict, calculation = _judge(rule, cable, draws)
    if verdict is not True:
        yield Finding(
            rule=rule.id,
            status=Status.UNKNOWN if verdict is None else Status.REFUSED,
            present=frozenset({supplied.kit, *supplied.amplifiers}),
            causes=(*draws, *limits),
            calculation=calculation,
        )


def _judge(rule: SupplyLimit, cable: Cable, draws: list[Cause]) -> tuple[bool | None, Calculation | None]:
    known = [number(cause.value) for cause in draws]
    total = sum((exact(x) for x in known if x is not None), Fraction(0))
    complete = None not in known
    if rule.limit == "voltage_drop":
        return _drop(rule, cable, total, complete=complete)
    most = None if isinstance(cable.ampacity_a, Unknown) else cable.ampacity_a
    calculation = None if most is None else Calculation(
        equation=f"sum_{rule.limit}", inputs=(("sum_a", float(total)),), result=float(total), limit=most, unit="a"
    )
    if most is not None and total > exact(most):
        return False, calculation
    if rule.limit == "fuse" and not _has_fuse(cable, total, complete=complete):
        return False, None
    return (True if complete and most is not None else None), calculation


def _has_fuse(cable: Cable, total: Fraction, *, complete: bool) -> bool:
    # While a figure is missing the sum can only grow: some fuse in the bag must still be large enough.
    fuses = [exact(fuse) for fuse in cable.fuses_a]
    return total in fuses if complete else any(fuse > total for fuse in fuses)


def _drop(rule: SupplyLimit, cable: Cable, total: Fraction, *, complete: bool) -> tuple[bool | None, Calculation | None]:
    if isinstance(cable.length_m, Unknown) or isinstance(cable.area_mm2, Unknown) or rule.most is None:
        return None, None
    drop = voltage_drop(float(total), cable.length_m, cable.area_mm2)
    calculation = Calculation(
        equation="voltage_drop",
        inputs=(("current_a", float(total)), ("length_m", cable.length_m), ("area_mm2", cable.area_mm2)),
        result=float(drop),
        limit=rule.most,
        unit="v",
    )
    if drop > exact(rule.most):
        return False, calculation
    return (True if complete else None), calculation


def _limits(rule: SupplyLimit, scene: Scene, kit: Placement) -> list[Cause]:
    names = ("length_m", "area_mm2") if rule.limit == "voltage_drop" else ("ampacity_a",)
    return [scene.bench.cause(f"part.{name}", kit) for name in names]


def check_charging(rule: SupplyLimit, scene: Scene) -> Iterator[Finding]:
    """Refuse a build whose amplifiers draw more at cruise than the bike has spare; at idle it is only a caution."""
    if rule.limit not in ("charging", "idle"):
        return
    amplifiers = [x for x in sorted(scene.build) if scene.bench.part(x).kind == "amplifier"]
    if not amplifiers:
        return
    limit = scene.bench.bike_cause(f"{'charging' if rule.limit == 'charging' else 'idle'}_headroom_a")
    draws = {x: _cruise(scene.bench.part(x)) for x in amplifiers}
    finding = _charge(rule, scene, limit, draws)
    if finding is not None:
        yield finding


def _charge(rule: SupplyLimit, scene: Scene, limit: Cause, draws: dict[Placement, Fraction | None]) -> Finding | None:
    most = number(limit.value)
    known = {x: draw for x, draw in draws.items() if draw is not None}
    taken: list[Placement] = []
    total = Fraction(0)
    # Hungriest first: the first ones that exceed the headroom are a smallest set that does.
    for amplifier in sorted(known, key=lambda x: (-known[x], x)):
        taken.append(amplifier)
        total += known[amplifier]
        if most is not None and total > exact(most):
            status = Status.REFUSED if rule.limit == "charging" else Status.CAUTION
            return _charging_finding(rule, scene, status, taken, limit, total)
    if most is None or len(known) < len(draws):
        if rule.limit == "idle":
            return None
        blamed = min(draws) if most is None else min(x for x in draws if x not in known)
        return _charging_finding(rule, scene, Status.UNKNOWN, [blamed], limit, total)
    return None


def _charging_finding(
    rule: SupplyLimit, scene: Scene, status: Status, amplifiers: list[Placement], limit: Cause, total: Fraction
) -> Finding:
    most = number(limit.value)
    figures = [scene.bench.cause(f"part.{name}", x) for x in amplifiers for name in ("idle_a", "efficiency")]
    return Finding(
        rule=rule.id,
        status=status,
        present=frozenset(amplifiers),
        causes=(*figures, limit),
        calculation=None
        if most is None
        else Calculation(
            equation="cruise_current",
            inputs=tuple((str(x), float(_cruise(scene.bench.part(x)) or 0)) for x in amplifiers),
            result=float(total),
            limit=most,
            unit="a",
        ),
    )


def _cruise(part: Part) -> Fraction | None:
    supply = part.supply
    if supply is None or isinstance(supply.efficiency, Unknown) or isinstance(supply.idle_a, Unknown):
        return None
    watts = Fraction(0)
    for channel in part.channels:
        if channel.bridges:
            continue
        if isinstance(channel.watts, Unknown):
            return None
        watts += exact(channel.watts[max(channel.watts, key=float)])
    return cruise_current(watts, supply.efficiency, supply.idle_a)
