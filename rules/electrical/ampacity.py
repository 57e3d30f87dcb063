"""How much current a cable carries without harm to its insulation, and what heat, bundling and metal take away."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.conductor import CLAD_CONDUCTIVITY, MATERIAL, SIZE, Conductor, awg_conductor, conductor
from rules.units import Amps, Celsius, Ratio

CLASSES = (60, 75, 80, 90, 105, 125, 200)
"""Temperature ratings of insulation [degC]: the columns of `TABLE`."""

TABLE = {
    18: (10, 10, 15, 20, 20, 25, 25),
    16: (15, 15, 20, 25, 25, 30, 35),
    14: (20, 20, 25, 30, 35, 40, 45),
    12: (25, 25, 35, 40, 45, 50, 55),
    10: (40, 40, 50, 55, 60, 70, 70),
    8: (55, 65, 70, 70, 80, 90, 100),
    6: (80, 95, 100, 100, 120, 125, 135),
    4: (105, 125, 130, 135, 160, 170, 180),
    3: (120, 145, 150, 155, 180, 195, 210),
    2: (140, 170, 175, 180, 210, 225, 240),
    1: (165, 195, 210, 210, 245, 265, 280),
    0: (195, 230, 245, 245, 285, 305, 325),
    -1: (225, 265, 285, 285, 330, 355, 370),
    -2: (260, 310, 330, 330, 385, 410, 430),
    -3: (300, 360, 385, 385, 445, 475, 510),
}
"""AWG number to allowable current [A] for each class: copper, below 50 V, free air at 30 degrees Celsius.

33 CFR 183.425 Table 5, read in a public copy of the text. A rule for boats: guidance on a motorcycle.
"""

ENGINE_SPACE = (0.58, 0.75, 0.78, 0.82, 0.85, 0.89, 1.00)
"""What is left of the table's current in an engine space at 50 degrees, for each class. Note 1 of the same table.

The values for 80 degrees are from memory.
"""

BUNDLED = ((25, 0.4), (7, 0.5), (4, 0.6), (3, 0.7))
"""From how many current-carrying conductors in a bundle, what is left of the table's current.

Note 2 of the same table, which asks for it from 50 V; the same numbers as ABYC E-11, second-hand.
"""

CLAD_FACTOR = math.sqrt(CLAD_CONDUCTIVITY / 100)
"""What copper-clad aluminium carries for the same heat in the same size: I^2 x R, derived."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ampacity:
    """What a cable carries where it runs.

    Attributes:
        table_a: In free air, copper. None below the thinnest size of the table.
        derated_a: Where it runs.
    """

    table_a: Amps | None
    engine_factor: Ratio
    bundle_factor: Ratio
    metal_factor: Ratio
    derated_a: Amps | None


def table_current(wire: Conductor, insulation_c: Celsius) -> Amps | None:
    """Allowable current of a copper cable in free air.

    Returns: [A], of the thickest size of the table that is not thicker than the wire, at the highest class that
        is not above its insulation. None if the wire is thinner than the whole table: nothing is extrapolated.
    """
    # A hair of slack, so that a size is not below itself by a rounding.
    thick_enough = [awg for awg in TABLE if awg_conductor(awg).area_mm2 <= wire.area_mm2 * (1 + 1e-9)]
    if not thick_enough:
        return None
    return float(TABLE[min(thick_enough)][_column(insulation_c)])


def _column(insulation_c: Celsius) -> int:
    return max(index for index, rating in enumerate(CLASSES) if rating <= insulation_c)


def bundle_factor(bundled: int) -> Ratio:
    """What is left of the current where several current-carrying conductors run in a bundle."""
    return next((factor for count, factor in BUNDLED if bundled >= count), 1.0)


def ampacity(
    size: str,
    insulation_c: Celsius = 60.0,
    runs: str = "free_air",
    bundled: int = 1,
    material: str = "copper",
) -> Ampacity:
    """Current that a cable carries where it runs.

    Args:
        size: "8 AWG", "2/0 AWG", "6 mm2".
        insulation_c: What the insulation is rated for [degC], 60 to 200; 60 if nobody knows better.
        runs: "free_air" or "engine_space".
        bundled: Current-carrying conductors in the bundle, this one among them.
        material: "copper" or "copper_clad_aluminium".

    Equation: derated = table x engine factor x bundle factor x metal factor.
    Source: 33 CFR 183.425 Table 5 with notes 1 and 2 (a rule for boats, guidance here); the factor for copper-clad
        aluminium is derived from its conductivity.

    Example:
        >>> round(ampacity("12 AWG", 105.0, "engine_space").derated_a, 2)
        38.25
    """
    table = table_current(conductor(size), insulation_c)
    engine = ENGINE_SPACE[_column(insulation_c)] if runs == "engine_space" else 1.0
    bundle = bundle_factor(bundled)
    metal = 1.0 if material == "copper" else CLAD_FACTOR
    return Ampacity(
        table_a=table,
        engine_factor=engine,
        bundle_factor=bundle,
        metal_factor=metal,
        derated_a=None if table is None else table * engine * bundle * metal,
    )


INSULATION = Input(
    name="insulation_c",
    unit="degC",
    meaning="temperature that the insulation is rated for",
    least=60,
    most=200,
    default=60.0,
)

RUNS = Input(
    name="runs",
    unit="1",
    meaning="where the cable runs; near the engine counts as engine space",
    kind="word",
    choices=("free_air", "engine_space"),
    default="free_air",
)

IN_BUNDLE = Input(
    name="bundled",
    unit="1",
    meaning="current-carrying conductors in the bundle, this one among them",
    kind="whole",
    least=1,
    most=100,
    default=1,
)

TOO_THIN = "the cable is thinner than the thinnest size of the table"

CALCULATIONS = (
    Calculation(
        id="ampacity",
        title="Current that a cable carries where it runs",
        topic="conductors",
        function=ampacity,
        inputs=(SIZE, INSULATION, RUNS, IN_BUNDLE, MATERIAL),
        output=Output(name="derated_a", unit="A", meaning="most steady current where it runs", none=TOO_THIN),
        others=(
            Output(name="table_a", unit="A", meaning="most steady current in free air", none=TOO_THIN),
            Output(name="engine_factor", unit="1", meaning="what is left near the engine"),
            Output(name="bundle_factor", unit="1", meaning="what is left in the bundle"),
            Output(name="metal_factor", unit="1", meaning="what is left for another metal than copper"),
        ),
        equation="derated = table x engine factor x bundle factor x metal factor",
        validity="below 50 V, air at 30 degrees (engine space: 50); sizes between two of the table take the thinner",
        source="33 CFR 183.425 Table 5 with notes 1 and 2: a rule for boats, guidance here",
        cautions=("estimate", "cable"),
    ),
)
