"""What an amplifier puts out: at a load, at the bike's voltage, bridged; and how well it uses what it draws."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.impedance import LEAST_OHM, MOST_OHM
from rules.electrical.load import exact, rated_power
from rules.errors import MalformedQuestion
from rules.units import Ohms, Ratio, Volts, Watts

RATED_VOLTS = 14.4
"""Supply at which continuous power is rated [V]. ANSI/CTA-2006-D, second-hand."""

CLASSES = ("D", "AB", "ideal_B")

PLANNING_EFFICIENCY = {"D": 0.85, "AB": 0.60}
"""At rated power (common practice, no source: 0.80 to 0.90, and 0.50 to 0.70)."""

PLANNING_IDLE = {"D": 0.6, "AB": 1.2}
"""Draw of one four-channel amplifier with no signal [A] (common practice, no source: 0.4 to 1, and 0.8 to 2)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatedPower:
    """What a channel can put into a load, from its rated table.

    Attributes:
        power_w: Most continuous power [W]: an upper bound between two ratings. None below the lowest rated
            impedance.
        at_ohm: The rated impedance that it was taken at.
        stands: "rated" if the load is a rated impedance; "between" two; "above" the highest; "below" the lowest.
    """

    power_w: Watts | None
    at_ohm: Ohms | None
    stands: str


def power_at_load(load_ohm: Ohms, rated_ohm: tuple[Ohms, ...], rated_w: tuple[Watts, ...]) -> RatedPower:
    """Most continuous power that a channel can put into a load.

    Args:
        load_ohm: Impedance connected [ohm].
        rated_ohm: Impedances of the rated table [ohm].
        rated_w: Continuous power at each [W], in the same order.

    Returns: The power at the largest rated impedance not above the load, as power falls when impedance rises.
        Below the lowest rated impedance none: nothing is extrapolated.

    Raises: MalformedQuestion if the table's columns differ in length or an impedance stands twice.

    Example:
        >>> power_at_load(4.0, (4.0, 2.0), (60.0, 95.0)).power_w
        60.0
        >>> power_at_load(1.0, (4.0, 2.0), (60.0, 95.0)).stands
        'below'
    """
    table = _table(rated_ohm, rated_w)
    power = rated_power({str(ohm): watts for ohm, watts in table.items()}, exact(load_ohm))
    if power is None:
        return RatedPower(power_w=None, at_ohm=None, stands="below")
    at = max(ohm for ohm in table if ohm <= load_ohm)
    return RatedPower(power_w=power, at_ohm=at, stands=_stands(load_ohm, at, max(table)))


def _table(rated_ohm: tuple[Ohms, ...], rated_w: tuple[Watts, ...]) -> dict[Ohms, Watts]:
    if len(rated_ohm) != len(rated_w):
        raise MalformedQuestion("rated_w", "rated_w is not as long as rated_ohm", "give one power for each")
    if len(set(rated_ohm)) < len(rated_ohm):
        raise MalformedQuestion("rated_ohm", "rated_ohm has an impedance twice", "give each impedance once")
    return dict(zip(rated_ohm, rated_w, strict=True))


def _stands(load: Ohms, at: Ohms, highest: Ohms) -> str:
    if load == at:
        return "rated"
    return "above" if at == highest else "between"


@dataclass(frozen=True, slots=True, kw_only=True)
class SuppliedPower:
    """What an amplifier can put out at the bike's voltage. The factor is never above 1."""

    power_w: Watts
    factor: Ratio


def power_at_supply(
    rated_w: Watts, supply_v: Volts, rated_at_v: Volts = RATED_VOLTS, power_supply: str = "unregulated"
) -> SuppliedPower:
    """Continuous power that is left at the bike's voltage.

    Args:
        rated_w: Continuous power as rated [W].
        supply_v: At the amplifier [V].
        rated_at_v: Supply at which it is rated [V].
        power_supply: "regulated" keeps its power and draws more current; "unregulated" loses both. Unregulated if
            nobody knows: it is the less favourable.

    Returns: Never more than rated: nothing is extrapolated upward.

    Equation: P = P_rated x min(1, U / U_rated)^2, or P_rated if regulated.
    Source: Ohm's law for an output that clips at the supply; 14.4 V of ANSI/CTA-2006-D, second-hand.

    Example:
        >>> round(power_at_supply(100.0, 12.6).power_w, 1)
        76.6
    """
    factor = 1.0 if power_supply == "regulated" else min(1.0, supply_v / rated_at_v) ** 2
    return SuppliedPower(power_w=rated_w * factor, factor=factor)


def output_ceiling(supply_v: Volts, load_ohm: Ohms, output: str = "bridged") -> Watts:
    """Most sine power of an output that has no converter, such as that of a head unit: what physics leaves of a claim.

    Args:
        supply_v: At the output stage [V].
        load_ohm: On one output [ohm].
        output: "bridged" (both ends driven, as in head units) or "single" (one end to ground).

    Equation: P = V^2 / (2 x R) with the peak V at the supply, or at half of it.
    Source: derived, from memory; an upper bound: real stages lose some volts.

    Example:
        >>> round(output_ceiling(14.4, 4.0), 2)
        25.92
    """
    peak = supply_v if output == "bridged" else supply_v / 2
    return peak**2 / (2 * load_ohm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridged:
    """A bridged pair of channels on one load.

    Attributes:
        seen_ohm: What each half drives.
        allowed: Whether each half may.
        power_w: Of the pair: twice what a half is rated for at what it sees. None if the table does not say.
    """

    seen_ohm: Ohms
    allowed: bool
    power_w: Watts | None
    lowest_ohm: Ohms


def bridge(
    load_ohm: Ohms, lowest_ohm: Ohms, rated_ohm: tuple[Ohms, ...], rated_w: tuple[Watts, ...]
) -> Bridged:
    """What a bridged pair does with a load.

    Args:
        load_ohm: On the pair [ohm].
        lowest_ohm: Lowest impedance that one channel may drive by itself [ohm].
        rated_ohm: Rated impedances of one channel by itself [ohm].
        rated_w: Its continuous power at each [W].

    Equation: each half drives half the voltage, and so sees half the load; the pair puts out twice what one half
        does there.
    Source: derived, from memory. Only channels that the maker allows to be bridged; his bridged rating comes first.

    Example:
        >>> bridge(4.0, 2.0, (4.0, 2.0), (60.0, 95.0)).power_w
        190.0
    """
    seen = load_ohm / 2
    allowed = seen >= lowest_ohm
    half = power_at_load(seen, rated_ohm, rated_w).power_w if allowed else None
    return Bridged(
        seen_ohm=seen,
        allowed=allowed,
        power_w=None if half is None else 2 * half,
        lowest_ohm=lowest_ohm,
    )


def efficiency(amplifier_class: str, power_fraction: Ratio = 1.0) -> Ratio:
    """What an amplifier makes of what it draws, for planning where its maker does not say.

    Args:
        amplifier_class: "D", "AB", or "ideal_B" for the limit that theory sets.
        power_fraction: Of rated power, above 0 to 1.

    Equation: class D: 0.85 at every power, its idle draw apart; class AB: 0.60 x sqrt(fraction);
        ideal B: pi / 4 x sqrt(fraction).
    Source: textbook class B; the planning figures are common practice, no source.

    Example:
        >>> round(efficiency("ideal_B", 0.125), 4)
        0.2777
    """
    if amplifier_class == "D":
        return PLANNING_EFFICIENCY["D"]
    most = math.pi / 4 if amplifier_class == "ideal_B" else PLANNING_EFFICIENCY["AB"]
    return most * math.sqrt(power_fraction)


RATED_OHM = Input(
    name="rated_ohm",
    unit="ohm",
    meaning="impedances of the rated table",
    kind="numbers",
    least=LEAST_OHM,
    most=MOST_OHM,
)

RATED_W = Input(
    name="rated_w",
    unit="W",
    meaning="continuous (RMS) power at each, in the same order",
    kind="numbers",
    least=0,
    most=10_000,
)

LOAD = Input(name="load_ohm", unit="ohm", meaning="impedance connected", least=LEAST_OHM, most=MOST_OHM)

SUPPLY = Input(name="supply_v", unit="V", meaning="supply at the amplifier", least=6, most=32)

CALCULATIONS = (
    Calculation(
        id="power_at_load",
        title="Power of a channel into a load",
        topic="amplifiers",
        function=power_at_load,
        inputs=(LOAD, RATED_OHM, RATED_W),
        output=Output(
            name="power_w",
            unit="W",
            meaning="most continuous power",
            none="the load is below the lowest rated impedance: not allowed, and nothing is extrapolated",
        ),
        others=(
            Output(
                name="at_ohm", unit="ohm", meaning="rated impedance it was taken at", none="no rating applies"
            ),
            Output(name="stands", unit="1", meaning="where the load stands: rated, between, above, below"),
        ),
        equation="P at the largest rated impedance not above the load",
        validity="an upper bound between two ratings and above the highest",
        source="the maker's rated table",
        cautions=("estimate",),
    ),
    Calculation(
        id="power_at_supply",
        title="Power of an amplifier at the bike's voltage",
        topic="amplifiers",
        function=power_at_supply,
        inputs=(
            Input(name="rated_w", unit="W", meaning="continuous (RMS) power as rated", least=0, most=10_000),
            SUPPLY,
            Input(
                name="rated_at_v",
                unit="V",
                meaning="supply at which it is rated",
                least=6,
                most=32,
                default=RATED_VOLTS,
            ),
            Input(
                name="power_supply",
                unit="1",
                meaning="whether the amplifier keeps its power when the voltage falls",
                kind="word",
                choices=("unregulated", "regulated"),
                default="unregulated",
            ),
        ),
        output=Output(name="power_w", unit="W", meaning="continuous power that is left"),
        others=(Output(name="factor", unit="1", meaning="of rated power, at most 1"),),
        equation="P = P_rated x min(1, U / U_rated)^2; regulated: P_rated",
        validity="above the voltage at which the amplifier shuts down; never more than rated",
        source="Ohm's law; 14.4 V of ANSI/CTA-2006-D, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="output_ceiling",
        title="Most power of an output without a converter",
        topic="amplifiers",
        function=output_ceiling,
        inputs=(
            SUPPLY,
            LOAD,
            Input(
                name="output",
                unit="1",
                meaning="both ends driven, or one end to ground",
                kind="word",
                choices=("bridged", "single"),
                default="bridged",
            ),
        ),
        output=Output(name="power_w", unit="W", meaning="most sine power"),
        equation="P = V^2 / (2 x R), V the supply or half of it",
        validity="an upper bound; a head unit of ordinary build, no converter",
        source="derived, from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="bridged_pair",
        title="A bridged pair on a load",
        topic="amplifiers",
        function=bridge,
        inputs=(
            LOAD,
            Input(
                name="lowest_ohm",
                unit="ohm",
                meaning="lowest impedance that one channel may drive",
                least=LEAST_OHM,
                most=MOST_OHM,
            ),
            RATED_OHM,
            RATED_W,
        ),
        output=Output(name="seen_ohm", unit="ohm", meaning="what each half drives"),
        others=(
            Output(name="allowed", unit="1", meaning="whether each half may"),
            Output(
                name="power_w",
                unit="W",
                meaning="continuous power of the pair",
                none="not allowed, or the rated table does not say",
            ),
            Output(name="lowest_ohm", unit="ohm", meaning="lowest that one channel may drive"),
        ),
        limit="lowest_ohm",
        equation="Z_seen = Z / 2; P = 2 x P_channel(Z / 2)",
        validity="channels that the maker allows to be bridged; his bridged rating comes first",
        source="derived, from memory",
        cautions=("estimate",),
    ),
    Calculation(
        id="efficiency",
        title="What an amplifier makes of what it draws",
        topic="amplifiers",
        function=efficiency,
        inputs=(
            Input(
                name="amplifier_class",
                unit="1",
                meaning="class of the amplifier",
                kind="word",
                choices=CLASSES,
            ),
            Input(
                name="power_fraction",
                unit="1",
                meaning="of rated power",
                least=0.001,
                most=1,
                default=1.0,
            ),
        ),
        output=Output(name="efficiency", unit="1", meaning="power put out over power drawn"),
        equation="D: 0.85; AB: 0.60 x sqrt(fraction); ideal B: pi / 4 x sqrt(fraction)",
        validity="planning only; the maker's figure comes first",
        source="textbook class B; planning figures are common practice, no source",
        cautions=("estimate",),
    ),
)
