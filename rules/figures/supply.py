"""What amplifiers draw: on their power kit, from the charging system, and from the battery while parked."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from rules.build import Placement
from rules.catalog.facts import Unknown
from rules.catalog.rule import SupplyLimit
from rules.electrical.load import exact
from rules.electrical.supply import COPPER_OHM_MM2_PER_M
from rules.figures.figure import Known, VisitFigure, figure
from rules.figures.ridden import Ridden, stated, together
from rules.tables import rules_of_kind

MILD_C = 20.0
"""Temperature for which parked listening is told [degC]."""

THIRD = 1 / 3
"""Share of rated power for which catalogs record efficiency."""


def supply_figures(ridden: Ridden) -> Iterator[VisitFigure]:
    """Work out every amplifier, every power kit that feeds one, and the bike's balance."""
    amplifiers = ridden.of_kind("amplifier")
    currents = {x: _currents(ridden, x) for x in amplifiers}
    yield from currents.values()
    for kit in ridden.of_kind("power_kit"):
        yield from _kit(ridden, kit, _amplifiers_on(ridden, kit))
    if amplifiers:
        yield from _balance(ridden, tuple(currents.values()))


def _amplifiers_on(ridden: Ridden, kit: Placement) -> tuple[Placement, ...]:
    mated = [
        {one.owner, other.owner}
        for one, other in ridden.visit.wiring or ()
        if kit in (one.owner, other.owner)
    ]
    found = frozenset[Placement]().union(*mated)
    return tuple(x for x in ridden.of_kind("amplifier") if x in found)


def _currents(ridden: Ridden, amplifier: Placement) -> VisitFigure:
    return figure(
        str(amplifier),
        "supply_currents",
        {
            "rated_w": _rated(ridden, amplifier),
            "amplifier_class": ridden.word("part.amplifier_class", amplifier),
            "full_efficiency": _full_efficiency(ridden, amplifier),
            "idle_a": ridden.fact("part.idle_a", amplifier),
        },
    )


def _rated(ridden: Ridden, amplifier: Placement) -> Known:
    """Give the sum over channels that are not bridged, each at its highest rated impedance [W]."""
    plain = [channel for channel in ridden.part(amplifier).channels if not channel.bridges]
    known = tuple(
        ridden.of_channel(
            (amplifier, channel.id),
            "watts",
            channel.watts
            if isinstance(channel.watts, Unknown)
            else channel.watts[max(channel.watts, key=float)],
        )
        for channel in plain
    )
    return together(known, sum, "sum over the channels at their highest rated impedance")


def _full_efficiency(ridden: Ridden, amplifier: Placement) -> Known:
    """Give the efficiency at rated power: of class AB it grows with the root of the power, of class D hardly."""
    third = ridden.fact("part.efficiency", amplifier)
    if ridden.word("part.amplifier_class", amplifier).value != "AB":
        return third
    return together((third,), lambda x: min(1.0, x[0] / THIRD**0.5), "from the efficiency at one-third power")


# --- one power kit --------------------------------------------------------------------------------------------------


def _kit(ridden: Ridden, kit: Placement, amplifiers: tuple[Placement, ...]) -> Iterator[VisitFigure]:
    if not amplifiers:
        return
    full = _sum(ridden, "part.full_a", amplifiers)
    yield figure(
        str(kit),
        "fuse_choice",
        {
            "maker_fuse_a": _sum(ridden, "part.fuse_a", amplifiers),
            "ampacity_a": ridden.fact("part.ampacity_a", kit),
            "current_a": full,
        },
    )
    lost = figure(
        str(kit),
        "lead_drop",
        {
            "current_a": full,
            "length_m": ridden.fact("part.length_m", kit),
            "ohm_per_km": together(
                (ridden.fact("part.area_mm2", kit),),
                lambda x: 1_000 * COPPER_OHM_MM2_PER_M / x[0],
                f"{COPPER_OHM_MM2_PER_M} ohm mm2/m of copper over the cross-section",
            ),
        },
    )
    most = _most_drop(ridden)
    yield lost if most is None else lost.held(stated(most, "rule for the voltage drop"), "at_most")


def _sum(ridden: Ridden, name: str, amplifiers: tuple[Placement, ...]) -> Known:
    known = tuple(ridden.fact(name, x) for x in amplifiers)
    return together(known, lambda x: float(sum(map(exact, x), Fraction(0))), "sum over the amplifiers on it")


def _most_drop(ridden: Ridden) -> float | None:
    rules = rules_of_kind(ridden.bench.tables.catalog, SupplyLimit)
    return min(
        (x.most for x in rules if x.limit == "voltage_drop" and x.most is not None),
        default=None,
    )


# --- the bike's balance ---------------------------------------------------------------------------------------------

SPARE = "the bike's own needs are taken off already"


def _balance(ridden: Ridden, currents: tuple[VisitFigure, ...]) -> Iterator[VisitFigure]:
    bike = ridden.bench.bike.id
    loud = together(
        tuple(x.known("third_a") for x in currents), sum, "one-third power and idle, all amplifiers"
    )
    moderate = together(
        tuple(x.known("eighth_a") for x in currents), sum, "one-eighth power and idle, all amplifiers"
    )
    spare = stated(0.0, SPARE)
    for when in ("charging", "idle"):
        yield figure(
            f"{bike} {'at cruise' if when == 'charging' else 'at idle'}",
            "charging_balance",
            {"output_a": ridden.bike(f"{when}_headroom_a"), "bike_a": spare, "amplifiers_a": loud},
        )
    parked = figure(
        f"{bike} parked",
        "parked_time",
        {
            "capacity_ah": ridden.bike("battery_ah"),
            "current_a": moderate,
            "battery": ridden.bike_word("battery_kind"),
            "age_years": ridden.bike("battery_age_years"),
            "temperature_c": stated(MILD_C, "a mild day"),
        },
    )
    yield parked
    yield figure(
        f"{bike} at idle",
        "idle_balance",
        {
            "output_a": ridden.bike("idle_headroom_a"),
            "bike_a": spare,
            "amplifiers_a": loud,
            "usable_ah": parked.known("usable_ah"),
        },
    )
