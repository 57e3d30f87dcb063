"""A pair of power leads: what is lost along it, and what reaches the amplifier."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.conductor import MATERIAL, SIZE, STRANDING, TEMPERATURE, conductor_resistance
from rules.units import Amps, Celsius, Metres, Ohms, OhmsPerKilometre, Volts, Watts


@dataclass(frozen=True, slots=True, kw_only=True)
class Drop:
    """What a pair of leads loses.

    Attributes:
        drop_percent: Of the supply voltage.
        loop_ohm: Out and back.
    """

    drop_v: Volts
    drop_percent: float
    loop_ohm: Ohms
    left_v: Volts
    lost_w: Watts


def lead_drop(
    current_a: Amps, length_m: Metres, ohm_per_km: OhmsPerKilometre, supply_v: Volts = 12.0
) -> Drop:
    """Voltage lost along a supply and return run of known resistance.

    Args:
        current_a: Steady draw [A].
        length_m: One way, battery to amplifier [m]; the return run is added here.
        ohm_per_km: Of one conductor [ohm/km].
        supply_v: At the battery [V].

    Equation: U = 2 x L x R' x I.
    Source: Ohm's law.

    Example:
        >>> round(lead_drop(20.0, 30.48, 6.332).drop_v, 2)
        7.72
    """
    loop = 2 * length_m * ohm_per_km / 1000
    drop = loop * current_a
    return Drop(
        drop_v=drop,
        drop_percent=100 * drop / supply_v,
        loop_ohm=loop,
        left_v=supply_v - drop,
        lost_w=drop * current_a,
    )


def cable_drop(
    current_a: Amps,
    length_m: Metres,
    size: str,
    supply_v: Volts = 12.0,
    temperature_c: Celsius = 30.0,
    material: str = "copper",
    stranding: str = "stranded",
) -> Drop:
    """Voltage lost along a supply and return run of a cable of known size.

    Args: As for `lead_drop` and `conductor_resistance`.

    Equation: U = 2 x L x R' x I, with R' of the size at the conductor's temperature.
    Source: Ohm's law; IEC 60028 and IEC 60228, second-hand.

    Example:
        >>> round(cable_drop(30.0, 1.5, "8 AWG", temperature_c=20.0, stranding="solid").drop_v, 4)
        0.1855
    """
    per_km = conductor_resistance(size, temperature_c, material, stranding)
    return lead_drop(current_a, length_m, per_km, supply_v)


@dataclass(frozen=True, slots=True, kw_only=True)
class AtAmplifier:
    """What a draw of constant power gets through a resistance. None of either if it cannot be had."""

    amplifier_v: Volts | None
    current_a: Amps | None


def amplifier_voltage(supply_v: Volts, loop_ohm: Ohms, power_w: Watts) -> AtAmplifier:
    """Voltage at an amplifier that draws the same power at any voltage, as one with a switched supply does.

    Args:
        supply_v: At the battery [V], above zero.
        loop_ohm: Leads out and back, with fuse and contacts [ohm].
        power_w: What the amplifier draws [W].

    Returns: [V] and [A]; None above the most that the resistance lets through, supply^2 / (4 x R).

    Equation: V = (U + sqrt(U^2 - 4 x R x P)) / 2, the upper root: the amplifier starts from no load.
    Source: Kirchhoff's voltage law.

    Example:
        >>> round(amplifier_voltage(14.4, 0.02, 235.294).amplifier_v, 4)
        14.0654
    """
    rest = supply_v**2 - 4 * loop_ohm * power_w
    if rest < 0:
        return AtAmplifier(amplifier_v=None, current_a=None)
    volts = (supply_v + math.sqrt(rest)) / 2
    return AtAmplifier(amplifier_v=volts, current_a=power_w / volts)


CURRENT = Input(name="current_a", unit="A", meaning="steady draw at full output", least=0, most=500)

LENGTH = Input(
    name="length_m",
    unit="m",
    meaning="one way, battery to amplifier; the return run is added",
    least=0,
    most=50,
)

SUPPLY = Input(name="supply_v", unit="V", meaning="voltage at the battery", least=6, most=32, default=12.0)

DROPS = (
    Output(name="drop_percent", unit="%", meaning="lost, of the supply"),
    Output(name="left_v", unit="V", meaning="left at the amplifier"),
    Output(name="loop_ohm", unit="ohm", meaning="resistance out and back"),
    Output(name="lost_w", unit="W", meaning="heat in the leads"),
)

CALCULATIONS = (
    Calculation(
        id="lead_drop",
        title="Voltage lost along leads of known resistance",
        topic="conductors",
        function=lead_drop,
        inputs=(
            CURRENT,
            LENGTH,
            Input(
                name="ohm_per_km", unit="ohm/km", meaning="resistance of one conductor", least=0, most=10_000
            ),
            SUPPLY,
        ),
        output=Output(name="drop_v", unit="V", meaning="lost along both leads"),
        others=DROPS,
        equation="U = 2 x L x R' x I",
        validity="steady direct current; fuse, lugs and a return through the frame come on top",
        source="Ohm's law",
        cautions=("estimate", "cable"),
    ),
    Calculation(
        id="cable_drop",
        title="Voltage lost along leads of known size",
        topic="conductors",
        function=cable_drop,
        inputs=(
            CURRENT,
            LENGTH,
            SIZE,
            SUPPLY,
            TEMPERATURE,
            MATERIAL,
            STRANDING,
        ),
        output=Output(name="drop_v", unit="V", meaning="lost along both leads"),
        others=DROPS,
        equation="U = 2 x L x R' x I, with R' of the size at the conductor's temperature",
        validity="steady direct current; fuse, lugs and a return through the frame come on top",
        source="Ohm's law; IEC 60028 and IEC 60228, second-hand",
        cautions=("estimate", "cable"),
    ),
    Calculation(
        id="amplifier_voltage",
        title="Voltage that reaches an amplifier of constant power",
        topic="amplifiers",
        function=amplifier_voltage,
        inputs=(
            SUPPLY,
            Input(
                name="loop_ohm",
                unit="ohm",
                meaning="leads out and back, with fuse and contacts",
                least=0,
                most=10,
            ),
            Input(name="power_w", unit="W", meaning="what the amplifier draws", least=0, most=10_000),
        ),
        output=Output(
            name="amplifier_v",
            unit="V",
            meaning="voltage at the amplifier",
            none="so much power does not get through this resistance",
        ),
        others=(
            Output(
                name="current_a",
                unit="A",
                meaning="current that flows",
                none="so much power does not get through this resistance",
            ),
        ),
        equation="V = (U + sqrt(U^2 - 4 x R x P)) / 2",
        validity="an amplifier with a switched supply, above the voltage at which it shuts down",
        source="Kirchhoff's voltage law",
        cautions=("estimate", "cable"),
    ),
)
