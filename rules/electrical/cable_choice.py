"""Which size of power cable is enough: for the heat where it runs, and for the voltage at its end."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.electrical.ampacity import IN_BUNDLE, INSULATION, RUNS, ampacity
from rules.electrical.cable import CURRENT, LENGTH, Drop, cable_drop
from rules.electrical.conductor import CLASS_5, MATERIAL, Conductor, awg_conductor, metric_conductor
from rules.units import Amps, Celsius, Metres, SquareMillimetres

SOLD_AWG = (18, 16, 14, 12, 10, 8, 6, 4, 2, 1, 0, -1, -2, -3)
"""AWG numbers that cable for vehicles is sold in, thinnest first (common practice, no source)."""

NOMINAL_VOLTS = 12.0
"""What a drop is a percentage of [V], as in ABYC E-11, second-hand."""

WARMTH = {"free_air": 30.0, "engine_space": 50.0}
"""Conductor temperature that the drop is worked out at [degC]: the surroundings of the ampacity table."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CableChoice:
    """The thinnest cables that are enough. None where no size that is sold is.

    Attributes:
        size: Name of the AWG size that is enough for both heat and drop.
        awg: Its number, with 0 for 1/0 and -1 for 2/0.
        drop_awg: Enough for the voltage drop alone.
        heat_awg: Enough for the heat alone.
        area_mm2: The metric size that is enough for both.
        derated_a: What the AWG size carries where it runs [A].
        drop_percent: What the AWG size loses, of 12 V [%].
    """

    size: str | None
    awg: int | None
    drop_awg: int | None
    heat_awg: int | None
    area_mm2: SquareMillimetres | None
    derated_a: Amps | None
    drop_percent: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """Where a pair of leads runs, and what it has to carry and may lose."""

    current_a: Amps
    length_m: Metres
    most_drop_percent: float
    fuse_a: Amps
    insulation_c: Celsius
    runs: str
    bundled: int
    material: str

    def most(self, wire: Conductor) -> Amps | None:
        """Give what a size carries on this run [A]."""
        return ampacity(wire.size, self.insulation_c, self.runs, self.bundled, self.material).derated_a

    def drop(self, wire: Conductor) -> Drop:
        """Give what a size loses on this run."""
        warmth = WARMTH[self.runs]
        return cable_drop(self.current_a, self.length_m, wire.size, NOMINAL_VOLTS, warmth, self.material)

    def carries(self, wire: Conductor) -> bool:
        """Tell whether a size bears the heat, also that of the most current that its fuse lets through for long."""
        most = self.most(wire)
        return most is not None and most >= max(self.current_a, self.fuse_a)

    def keeps(self, wire: Conductor) -> bool:
        """Tell whether a size keeps the voltage up."""
        return self.drop(wire).drop_percent <= self.most_drop_percent


def choose_cable(
    current_a: Amps,
    length_m: Metres,
    most_drop_percent: float = 3.0,
    fuse_a: Amps = 0.0,
    insulation_c: Celsius = 60.0,
    runs: str = "free_air",
    bundled: int = 1,
    material: str = "copper",
) -> CableChoice:
    """Thinnest cable that bears the heat and keeps the voltage up.

    Args:
        current_a: At full output [A].
        length_m: One way [m].
        most_drop_percent: What may be lost, of 12 V [%]: 3 where it matters, as for an amplifier, else 10.
        fuse_a: Fuse in front of it [A]; 0 if none is chosen yet. The other arguments are those of `ampacity`.

    Equation: ampacity where it runs >= current and fuse, and drop <= the limit of 12 V, for the same size.
    Source: 33 CFR 183.425 (a rule for boats, guidance here); 3 % and 10 % as in ABYC E-11, second-hand.

    Example:
        >>> choose_cable(50.0, 2.0, fuse_a=60.0, insulation_c=105.0, runs="engine_space").size
        '6 AWG'
    """
    run = Run(
        current_a=current_a,
        length_m=length_m,
        most_drop_percent=most_drop_percent,
        fuse_a=fuse_a,
        insulation_c=insulation_c,
        runs=runs,
        bundled=bundled,
        material=material,
    )
    gauges = [awg_conductor(awg) for awg in SOLD_AWG]
    cool = _first(x for x in gauges if run.carries(x))
    stiff = _first(x for x in gauges if run.keeps(x))
    both = _first(x for x in gauges if run.carries(x) and run.keeps(x))
    metric = [metric_conductor(area) for area in CLASS_5]
    area = _first(x for x in metric if run.carries(x) and run.keeps(x))
    return CableChoice(
        size=None if both is None else both.size,
        awg=None if both is None else both.awg,
        drop_awg=None if stiff is None else stiff.awg,
        heat_awg=None if cool is None else cool.awg,
        area_mm2=None if area is None else area.area_mm2,
        derated_a=None if both is None else run.most(both),
        drop_percent=None if both is None else run.drop(both).drop_percent,
    )


def _first(sizes: Iterable[Conductor]) -> Conductor | None:
    return next(iter(sizes), None)


NO_SIZE = "no size that is sold is enough: shorten the run or lower the current"

CALCULATIONS = (
    Calculation(
        id="cable_choice",
        title="Thinnest power cable that is enough",
        topic="conductors",
        function=choose_cable,
        inputs=(
            CURRENT,
            LENGTH,
            Input(
                name="most_drop_percent",
                unit="%",
                meaning="what may be lost, of 12 V",
                least=0.5,
                most=10,
                default=3.0,
            ),
            Input(
                name="fuse_a",
                unit="A",
                meaning="fuse in front of it; 0 if none is chosen yet",
                least=0,
                most=500,
                default=0.0,
            ),
            INSULATION,
            RUNS,
            IN_BUNDLE,
            MATERIAL,
        ),
        output=Output(name="size", unit="1", meaning="AWG size that is enough for both", none=NO_SIZE),
        others=(
            Output(name="awg", unit="AWG", meaning="its number; 0 is 1/0, -1 is 2/0", none=NO_SIZE),
            Output(name="drop_awg", unit="AWG", meaning="enough for the voltage drop alone", none=NO_SIZE),
            Output(name="heat_awg", unit="AWG", meaning="enough for the heat alone", none=NO_SIZE),
            Output(name="area_mm2", unit="mm^2", meaning="metric size that is enough for both", none=NO_SIZE),
            Output(name="derated_a", unit="A", meaning="what that AWG size carries there", none=NO_SIZE),
            Output(name="drop_percent", unit="%", meaning="what that AWG size loses, of 12 V", none=NO_SIZE),
        ),
        equation="ampacity where it runs >= current and fuse, and drop <= the limit of 12 V",
        validity="sizes that are sold from 18 AWG to 4/0 AWG, or from 0.5 to 50 mm2; the fuse follows the cable",
        source="33 CFR 183.425 (a rule for boats, guidance here); 3 % and 10 % as in ABYC E-11, second-hand",
        cautions=("estimate", "cable", "wiring", "pass_through", "hot"),
    ),
)
