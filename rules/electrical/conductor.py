"""Copper, and what is sold as copper: sizes of wire, their cross-section, resistance and mass."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion
from rules.units import Celsius, Kilograms, Metres, Millimetres, OhmsPerKilometre, Ratio, SquareMillimetres

COPPER_20_C = 0.017241
"""Resistivity of annealed copper at 20 degrees Celsius [ohm mm2/m]. IEC 60028:1925, second-hand."""

COPPER_PER_K = 0.00393
"""Rise of copper's resistance for each kelvin, of its value at 20 degrees [1/K]. IEC 60028:1925, second-hand."""

COPPER_DENSITY = 8.89
"""[g/cm3]. IEC 60028:1925, second-hand."""

CLAD_CONDUCTIVITY = 62.0
"""Least conductivity of copper-clad aluminium [% of annealed copper].

On the scale of IEC 60028, second-hand; 62 to 65 in use.
"""

CLAD_DENSITY = 3.32
"""Copper-clad aluminium with 10 % of copper by volume [g/cm3]: 0.9 x 2.70 + 0.1 x 8.89; from memory."""

LAY = 1.02
"""How much longer the wires of a stranded conductor are than the conductor. NEC Chapter 9 Table 8, second-hand."""

CLASS_5 = {
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
    6.0: 3.30,
    10.0: 1.91,
    16.0: 1.21,
    25.0: 0.780,
    35.0: 0.554,
    50.0: 0.386,
}
"""Nominal cross-section [mm2] to the highest resistance at 20 degrees Celsius [ohm/km], plain flexible copper.

IEC 60228 Table 3, class 5; copied from two public cable makers' tables that agree, second-hand.
"""

THINNEST, THICKEST = 40, -3

MATERIALS = ("copper", "copper_clad_aluminium")

_SIZE = re.compile(r"(?P<number>\d+(?:\.\d+)?)(?P<noughts>/0)? ?(?P<scale>AWG|mm2)", re.ASCII)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """One size of wire.

    Attributes:
        awg: AWG number, with 0 for 1/0, -1 for 2/0 and so on. None for a metric size.
        diameter_mm: Of a solid wire of this cross-section; a stranded one is thicker.
    """

    awg: int | None
    diameter_mm: Millimetres
    area_mm2: SquareMillimetres

    @property
    def size(self) -> str:
        """Give the name that the size is sold by."""
        if self.awg is None:
            return f"{self.area_mm2:g} mm2"
        return f"{self.awg} AWG" if self.awg > 0 else f"{1 - self.awg}/0 AWG"


def awg_conductor(awg: int) -> Conductor:
    """Make the wire of an AWG number.

    Args:
        awg: 40 (thinnest) to 0 (1/0), -1 (2/0), -2 (3/0), -3 (4/0).

    Equation: d = 0.127 mm x 92^((36 - n) / 39).
    Source: ASTM B258, definition of the gauge, second-hand.

    Example:
        >>> round(awg_conductor(4).diameter_mm, 3)
        5.189
    """
    diameter = 0.127 * 92 ** ((36 - awg) / 39)
    return Conductor(awg=awg, diameter_mm=diameter, area_mm2=math.pi / 4 * diameter**2)


def metric_conductor(area_mm2: SquareMillimetres) -> Conductor:
    """Make the wire of a nominal cross-section."""
    return Conductor(awg=None, diameter_mm=math.sqrt(4 * area_mm2 / math.pi), area_mm2=area_mm2)


def conductor(size: str) -> Conductor:
    """Read a size as it is printed on a cable.

    Args:
        size: "8 AWG", "1/0 AWG", "2/0 AWG" or a nominal cross-section such as "6 mm2".

    Raises: MalformedQuestion if it is no size, or none between 40 AWG and 4/0 AWG or 0.05 and 120 mm2.

    Example:
        >>> conductor("2/0 AWG").awg, conductor("6 mm2").area_mm2
        (-1, 6.0)
    """
    read = _SIZE.fullmatch(size.strip())
    if read is None:
        raise _no_size()
    number = float(read["number"])
    if read["scale"] == "mm2":
        return _metric(number, noughts=read["noughts"])
    return _gauge(number, noughts=read["noughts"])


def _metric(area: float, *, noughts: str | None) -> Conductor:
    if noughts or not 0.05 <= area <= 120:  # noqa: PLR2004 - the range is in the docstring above
        raise _no_size()
    return metric_conductor(area)


def _gauge(number: float, *, noughts: str | None) -> Conductor:
    awg = 1 - number if noughts else number
    if not awg.is_integer() or not THICKEST <= awg <= (0 if noughts else THINNEST):
        raise _no_size()
    return awg_conductor(int(awg))


def _no_size() -> MalformedQuestion:
    return MalformedQuestion(
        "size",
        "size is not the size of a cable",
        "write it as 8 AWG, 2/0 AWG or 6 mm2, from 40 AWG to 4/0 AWG",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistivity:
    """How a metal resists, with the constants behind it."""

    resistivity: float
    conductivity_percent: float
    per_k: float


def resistivity(temperature_c: Celsius, material: str = "copper", lay: Ratio = 1.0) -> Resistivity:
    """Resistivity of a conductor's metal.

    Args:
        temperature_c: Of the conductor, not of the air [degC], -40 to 250.
        material: One of `MATERIALS`.
        lay: Length of the wires over that of the conductor: 1 solid, 1.02 stranded.

    Returns: [ohm mm2/m].

    Equation: rho = 0.017241 x (1 + 0.00393 x (T - 20)) x 100 / conductivity x lay. Copper's coefficient stands for
        copper-clad aluminium as well (aluminium: 0.00403, from memory), within 0.3 % up to 60 degrees.
    Source: IEC 60028:1925, second-hand.

    Example:
        >>> round(resistivity(20.0).resistivity, 6)
        0.017241
    """
    percent = 100.0 if material == "copper" else CLAD_CONDUCTIVITY
    warm = 1 + COPPER_PER_K * (temperature_c - 20)
    return Resistivity(
        resistivity=COPPER_20_C * warm * 100 / percent * lay, conductivity_percent=percent, per_k=COPPER_PER_K
    )


def conductor_resistance(
    size: str, temperature_c: Celsius = 30.0, material: str = "copper", stranding: str = "stranded"
) -> OhmsPerKilometre:
    """Resistance of a cable for each kilometre of one conductor.

    Args:
        size: As for `conductor`.
        temperature_c: Of the conductor [degC].
        material: One of `MATERIALS`.
        stranding: "solid" or "stranded".

    Returns: [ohm/km]. Of a metric size in class 5 copper, the highest that the class allows; of any other, from
        cross-section and resistivity.

    Equation: R = 1000 x rho / A, or the table's value x (1 + 0.00393 x (T - 20)).
    Source: IEC 60028:1925; IEC 60228 Table 3, class 5; both second-hand.

    Example:
        >>> round(conductor_resistance("10 mm2", 20.0), 2)
        1.91
    """
    wire = conductor(size)
    lay = LAY if stranding == "stranded" else 1.0
    metal = resistivity(temperature_c, material, lay)
    by_area = 1000 * metal.resistivity / wire.area_mm2
    if wire.awg is None and stranding == "stranded" and wire.area_mm2 in CLASS_5:
        of_copper = CLASS_5[wire.area_mm2] * (1 + COPPER_PER_K * (temperature_c - 20))
        return of_copper * 100 / metal.conductivity_percent
    return by_area


@dataclass(frozen=True, slots=True, kw_only=True)
class ConductorMass:
    """Mass of bare conductors, with the density behind it."""

    mass_kg: Kilograms
    density_g_cm3: float


def conductor_mass(area_mm2: SquareMillimetres, length_m: Metres, material: str = "copper") -> ConductorMass:
    """Mass of the metal in a run of cable, without insulation.

    Args:
        area_mm2: Cross-section [mm2].
        length_m: Whole length of conductor, out and back [m].

    Equation: m = density x A x L.
    Source: IEC 60028:1925, second-hand.

    Example:
        >>> round(conductor_mass(8.37, 3.0).mass_kg, 3)
        0.223
    """
    density = COPPER_DENSITY if material == "copper" else CLAD_DENSITY
    return ConductorMass(mass_kg=density * area_mm2 * length_m / 1000, density_g_cm3=density)


SIZE = Input(name="size", unit="1", meaning="size of the cable, such as 8 AWG, 2/0 AWG or 6 mm2", kind="word")

TEMPERATURE = Input(
    name="temperature_c",
    unit="degC",
    meaning="temperature of the conductor",
    least=-40,
    most=250,
    default=30.0,
)

MATERIAL = Input(
    name="material",
    unit="1",
    meaning="metal of the conductor",
    kind="word",
    choices=MATERIALS,
    default="copper",
)

STRANDING = Input(
    name="stranding",
    unit="1",
    meaning="how the conductor is built",
    kind="word",
    choices=("solid", "stranded"),
    default="stranded",
)

CALCULATIONS = (
    Calculation(
        id="conductor",
        title="Size of a wire by its AWG number",
        topic="conductors",
        function=awg_conductor,
        inputs=(
            Input(
                name="awg",
                unit="1",
                meaning="AWG number; 0 is 1/0, -1 is 2/0, -2 is 3/0, -3 is 4/0",
                kind="whole",
                least=THICKEST,
                most=THINNEST,
            ),
        ),
        output=Output(name="area_mm2", unit="mm^2", meaning="cross-section"),
        others=(Output(name="diameter_mm", unit="mm", meaning="diameter of the solid wire"),),
        equation="d = 0.127 mm x 92^((36 - n) / 39); A = pi / 4 x d^2",
        validity="solid wire; a stranded one of the same number has the same metal and is thicker",
        source="ASTM B258, definition of the gauge, second-hand",
        cautions=("estimate",),
    ),
    Calculation(
        id="resistivity",
        title="Resistivity of a conductor's metal",
        topic="conductors",
        function=resistivity,
        inputs=(
            TEMPERATURE,
            MATERIAL,
            Input(
                name="lay",
                unit="1",
                meaning="length of the wires over that of the conductor: 1 solid, 1.02 stranded",
                least=1.0,
                most=1.1,
                default=1.0,
            ),
        ),
        output=Output(name="resistivity", unit="ohm*mm^2/m", meaning="resistivity at that temperature"),
        others=(
            Output(name="conductivity_percent", unit="%", meaning="conductivity, of that of annealed copper"),
            Output(name="per_k", unit="1/K", meaning="rise for each kelvin, of the value at 20 degrees"),
        ),
        equation="rho = 0.017241 x (1 + 0.00393 x (T - 20)) x 100 / conductivity x lay",
        validity="annealed copper; copper-clad aluminium at its least conductivity",
        source="IEC 60028:1925, second-hand",
        cautions=("estimate", "cable"),
    ),
    Calculation(
        id="conductor_resistance",
        title="Resistance of a cable for each kilometre",
        topic="conductors",
        function=conductor_resistance,
        inputs=(
            SIZE,
            TEMPERATURE,
            MATERIAL,
            STRANDING,
        ),
        output=Output(name="ohm_per_km", unit="ohm/km", meaning="resistance of one conductor"),
        equation="R = 1000 x rho / A; of a metric flexible cable the class's highest, x (1 + 0.00393 x (T - 20))",
        validity="direct current; one conductor, not the round trip",
        source="IEC 60028:1925; IEC 60228 Table 3, class 5; both second-hand",
        cautions=("estimate", "cable"),
    ),
    Calculation(
        id="conductor_mass",
        title="Mass of the metal in a run of cable",
        topic="conductors",
        function=conductor_mass,
        inputs=(
            Input(name="area_mm2", unit="mm^2", meaning="cross-section", least=0.01, most=200),
            Input(name="length_m", unit="m", meaning="length of conductor, out and back", least=0, most=100),
            MATERIAL,
        ),
        output=Output(name="mass_kg", unit="kg", meaning="mass without insulation"),
        others=(Output(name="density_g_cm3", unit="g/cm^3", meaning="density that was taken"),),
        equation="m = density x A x L",
        validity="metal only: insulation, lugs and fuse holder come on top",
        source="IEC 60028:1925, second-hand",
        cautions=("estimate", "mass"),
    ),
)
