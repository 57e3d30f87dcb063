"""What amplifiers draw: on the power kit that they are mated to, and from the bike at cruise."""

from __future__ import annotations

from fractions import Fraction

from rules.build import Build, Placement
from rules.catalog.part import AmplifierSupply, Cable, Part
from rules.catalog.rule import SupplyLimit
from rules.checker.fault import Breaks, Clause
from rules.checker.figures import exact
from rules.checker.plugs import Wired
from rules.checker.world import LOOM, World, known
from rules.electrical.supply import cruise_current, voltage_drop


def check_supply(world: World, wired: Wired) -> Breaks:
    """Name every power kit, and every build, that draws more than it may, or of which nobody knows."""
    rules = {rule.limit: rule for rule in world.index.rules(SupplyLimit)}
    for kit, amplifiers in _kits(world, wired).items():
        cable = world.part(kit).cable
        assert cable is not None  # noqa: S101 - this makes it a kit
        supplies = [supply for x in amplifiers if (supply := world.part(x).supply) is not None]
        if "fuse" in rules and not _is_fused(cable, supplies):
            yield Clause.FUSE, str(kit)
        if "ampacity" in rules and not _carries(cable, _sum(supplies, "full_a")):
            yield Clause.AMPACITY, str(kit)
        if "voltage_drop" in rules and not _drops_little(cable, supplies, rules["voltage_drop"]):
            yield Clause.VOLTAGE_DROP, str(kit)
    if "charging" in rules and not _is_charged(world, wired.build):
        yield Clause.CHARGING, world.bike.id


def _kits(world: World, wired: Wired) -> dict[Placement, list[Placement]]:
    """Give each part with a cable with the parts that draw from it."""
    kits: dict[Placement, set[Placement]] = {}
    for plug, partners in wired.partners.items():
        if plug.owner != LOOM and world.part(plug.owner).cable is not None:
            drawing = {x.owner for x in partners if x.owner != LOOM and world.part(x.owner).supply}
            kits.setdefault(plug.owner, set()).update(drawing)
    return {kit: sorted(drawing) for kit, drawing in sorted(kits.items()) if drawing}


def _sum(supplies: list[AmplifierSupply], figure: str) -> Fraction | None:
    figures = [known(getattr(supply, figure)) for supply in supplies]
    return None if None in figures else sum(map(exact, figures), Fraction(0))


def _carries(cable: Cable, current: Fraction | None) -> bool:
    ampacity = known(cable.ampacity_a)
    return current is not None and ampacity is not None and current <= exact(ampacity)


def _is_fused(cable: Cable, supplies: list[AmplifierSupply]) -> bool:
    fuse = _sum(supplies, "fuse_a")
    return fuse is not None and fuse in map(exact, cable.fuses_a) and _carries(cable, fuse)


def _drops_little(cable: Cable, supplies: list[AmplifierSupply], rule: SupplyLimit) -> bool:
    current, length, area = _sum(supplies, "full_a"), known(cable.length_m), known(cable.area_mm2)
    if current is None or length is None or area is None or rule.most is None:
        return False
    # The sum of figures as written has as many decimals as they have, so nothing is lost on the way.
    return voltage_drop(float(current), length, area) <= exact(rule.most)


def _is_charged(world: World, build: Build) -> bool:
    amplifiers = [world.part(x) for x in sorted(build) if world.part(x).kind == "amplifier"]
    if not amplifiers:
        return True
    headroom = world.bike_fact("charging_headroom_a")
    draws = [_draw(part) for part in amplifiers]
    if None in draws or isinstance(headroom, bool) or not isinstance(headroom, int | float):
        return False
    return sum((draw for draw in draws if draw is not None), Fraction(0)) <= exact(headroom)


def _draw(part: Part) -> Fraction | None:
    """Give what an amplifier draws at cruise [A]; a bridged channel's power counts with those that it is made of."""
    supply = part.supply
    efficiency, idle = (known(supply.efficiency), known(supply.idle_a)) if supply else (None, None)
    tables = [known(channel.watts) for channel in part.channels if not channel.bridges]
    if efficiency is None or idle is None or None in tables:
        return None
    watts = sum((exact(table[max(table, key=float)]) for table in tables), Fraction(0))
    return cruise_current(watts, efficiency, idle)
