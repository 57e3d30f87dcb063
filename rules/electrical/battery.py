"""A battery with the engine off: how long it plays and still starts the engine; and what may charge it."""

from __future__ import annotations

from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.units import AmpHours, Amps, Celsius, Hours, Ratio, Volts


@dataclass(frozen=True, slots=True, kw_only=True)
class Chemistry:
    """What a type of battery is planned with.

    Attributes:
        exponent: Peukert's (common practice, no source).
        per_k: Capacity lost for each kelvin below 25 degrees, of the rated one (common practice, no source).
        per_year: Capacity lost for each year, of the rated one: to four fifths at the end of an ordinary life of
            four years, or eight (common practice, no source).
        oldest: Age from which no figure is given: have it tested [years].
        cells, nominal_v, charge_v: In series; of one cell [V].
        charge_per_k: What the charging voltage of a cell falls for each kelvin above 25 degrees [V/K].
    """

    exponent: float
    per_k: float
    per_year: float
    oldest: float
    cells: int
    nominal_v: Volts
    charge_v: Volts
    charge_per_k: float
    charges_from_c: Celsius


def _lead(exponent: float) -> Chemistry:
    return Chemistry(
        exponent=exponent,
        per_k=0.01,
        per_year=0.05,
        oldest=8.0,
        cells=6,
        nominal_v=2.0,
        charge_v=2.4,
        charge_per_k=0.003,
        charges_from_c=-20.0,
    )


CHEMISTRIES = {
    "flooded": _lead(1.3),
    "agm": _lead(1.15),
    "gel": _lead(1.2),
    "lithium_iron_phosphate": Chemistry(
        exponent=1.05,
        per_k=0.008,
        per_year=0.025,
        oldest=12.0,
        cells=4,
        nominal_v=3.2,
        charge_v=3.65,
        charge_per_k=0.0,
        charges_from_c=0.0,
    ),
}
"""Voltages: six cells of lead, four of lithium iron phosphate, second-hand; the rest as said above."""

RATED_AT = 25.0
"""Temperature at which capacity is rated and voltages are named [degC]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Parked:
    """How long a parked bike plays.

    Attributes:
        time_h: Until the reserve is reached; zero if the battery is at or below it. None from the age on from which
            nothing is said.
        usable_ah: What may be taken out. None likewise.
        reserve_ah: What stays in to start the engine.
        rated_a: The current that the capacity is rated at.
        age_factor, temperature_factor, current_factor: What is left of the rated capacity for each reason.
    """

    time_h: Hours | None
    usable_ah: AmpHours | None
    reserve_ah: AmpHours
    rated_a: Amps
    age_factor: Ratio | None
    temperature_factor: Ratio
    current_factor: Ratio


def parked_time(
    capacity_ah: AmpHours,
    current_a: Amps,
    battery: str,
    age_years: float,
    temperature_c: Celsius,
    reserve: Ratio = 0.5,
    rated_hours: Hours = 10.0,
    exponent: float | None = None,
) -> Parked:
    """How long music plays with the engine off until the battery holds just the reserve that starts it.

    Args:
        capacity_ah: Rated [Ah].
        current_a: All that is drawn, the bike's own draw with the ignition on among it [A], above zero.
        battery: One of `CHEMISTRIES`.
        age_years: Since it was made [years].
        temperature_c: Of the battery [degC], -20 to 50.
        reserve: Kept to start the engine, of the rated capacity. Of the rated, so that cold and age shorten the
            time and not the reserve.
        rated_hours: Time that the capacity is rated over [h]: 10 for most motorcycles, 20 for cars.
        exponent: Peukert's; the type's planning figure if nobody knows.

    Equation: t = (C x f_age x f_temperature x f_current - reserve x C) / I, with f_current =
        (C / (rated_hours x I))^(k - 1) and no factor above 1: Peukert's t = H x (C / (H x I))^k for a new, warm,
        wholly emptied battery.
    Source: Peukert's law in its rated-time form, second-hand; factors of age and cold are common practice, no source.

    Example:
        >>> round(parked_time(12.0, 4.0, "agm", 2.0, 10.0).time_h, 2)
        0.42
    """
    chemistry = CHEMISTRIES[battery]
    power = (chemistry.exponent if exponent is None else exponent) - 1
    rated_a = capacity_ah / rated_hours
    current_factor = min(1.0, rated_a / current_a) ** power
    temperature_factor = 1 - chemistry.per_k * max(0.0, RATED_AT - temperature_c)
    age_factor = None if age_years >= chemistry.oldest else 1 - chemistry.per_year * age_years
    kept = reserve * capacity_ah
    usable = None
    if age_factor is not None:
        usable = max(0.0, capacity_ah * age_factor * temperature_factor * current_factor - kept)
    return Parked(
        time_h=None if usable is None else usable / current_a,
        usable_ah=usable,
        reserve_ah=kept,
        rated_a=rated_a,
        age_factor=age_factor,
        temperature_factor=temperature_factor,
        current_factor=current_factor,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class ChargeVoltage:
    """What a battery may be charged with.

    Attributes:
        most_v: Highest voltage while charging at this temperature.
        per_k_mv: How that moves for each kelvin above 25 degrees [mV/K].
        allowed: Whether it may be charged at this temperature at all.
    """

    most_v: Volts
    nominal_v: Volts
    per_k_mv: float
    allowed: bool


def charge_voltage(battery: str, temperature_c: Celsius = RATED_AT) -> ChargeVoltage:
    """Highest voltage that may charge a battery of six lead cells, or of four of lithium iron phosphate.

    Args:
        battery: One of `CHEMISTRIES`.
        temperature_c: Of the battery [degC].

    Equation: lead: 6 x (2.4 V - 3 mV/K x (T - 25)); lithium iron phosphate: 4 x 3.65 V at every temperature.
    Source: common cell voltages, second-hand; the battery maker's figures come first.

    Example:
        >>> charge_voltage("lithium_iron_phosphate", -5.0).allowed
        False
    """
    chemistry = CHEMISTRIES[battery]
    per_k = -chemistry.cells * chemistry.charge_per_k
    full = chemistry.cells * chemistry.charge_v
    return ChargeVoltage(
        most_v=full + per_k * (temperature_c - RATED_AT),
        nominal_v=chemistry.cells * chemistry.nominal_v,
        per_k_mv=1000 * per_k,
        allowed=temperature_c >= chemistry.charges_from_c,
    )


BATTERY = Input(
    name="battery", unit="1", meaning="type of the battery", kind="word", choices=tuple(CHEMISTRIES)
)

TOO_OLD = "at this age no figure holds: have the battery tested"

CALCULATIONS = (
    Calculation(
        id="parked_time",
        title="How long a parked bike plays and still starts",
        topic="batteries",
        function=parked_time,
        inputs=(
            Input(name="capacity_ah", unit="A*h", meaning="rated capacity", least=1, most=300),
            Input(
                name="current_a",
                unit="A",
                meaning="all that is drawn, the bike's own draw among it",
                least=0.01,
                most=300,
            ),
            BATTERY,
            Input(name="age_years", unit="year", meaning="since it was made", least=0, most=30),
            Input(
                name="temperature_c", unit="degC", meaning="temperature of the battery", least=-20, most=50
            ),
            Input(
                name="reserve",
                unit="1",
                meaning="kept to start the engine, of the rated capacity",
                least=0,
                most=1,
                default=0.5,
            ),
            Input(
                name="rated_hours",
                unit="h",
                meaning="time that the capacity is rated over",
                least=1,
                most=100,
                default=10.0,
            ),
            Input(
                name="exponent",
                unit="1",
                meaning="Peukert's, if its maker says",
                least=1,
                most=1.6,
                optional=True,
            ),
        ),
        output=Output(name="time_h", unit="h", meaning="until only the reserve is left", none=TOO_OLD),
        others=(
            Output(name="usable_ah", unit="A*h", meaning="what may be taken out", none=TOO_OLD),
            Output(name="reserve_ah", unit="A*h", meaning="what stays in to start the engine"),
            Output(name="rated_a", unit="A", meaning="current that the capacity is rated at"),
            Output(name="age_factor", unit="1", meaning="left of the capacity at this age", none=TOO_OLD),
            Output(name="temperature_factor", unit="1", meaning="left of it at this temperature"),
            Output(name="current_factor", unit="1", meaning="left of it at this current"),
        ),
        equation="t = (C x f_age x f_temperature x (C / (H x I))^(k - 1) - reserve x C) / I, no factor above 1",
        validity="a battery that was full; the reserve is an assumption, and a hard start takes more",
        source="Peukert's law in its rated-time form, second-hand; age and cold: common practice, no source",
        cautions=("estimate", "parked", "battery"),
    ),
    Calculation(
        id="charge_voltage",
        title="Highest voltage that may charge a battery",
        topic="batteries",
        function=charge_voltage,
        inputs=(
            BATTERY,
            Input(
                name="temperature_c",
                unit="degC",
                meaning="temperature of the battery",
                least=-20,
                most=50,
                default=RATED_AT,
            ),
        ),
        output=Output(name="most_v", unit="V", meaning="highest voltage while charging"),
        others=(
            Output(name="nominal_v", unit="V", meaning="nominal voltage"),
            Output(name="per_k_mv", unit="mV/K", meaning="how the highest moves above 25 degrees"),
            Output(name="allowed", unit="1", meaning="whether it may be charged at this temperature"),
        ),
        equation="lead: 6 x (2.4 V - 3 mV/K x (T - 25)); lithium iron phosphate: 4 x 3.65 V",
        validity="six cells of lead or four of lithium iron phosphate; the battery maker's figures come first",
        source="common cell voltages, second-hand",
        cautions=("estimate", "battery"),
    ),
)
