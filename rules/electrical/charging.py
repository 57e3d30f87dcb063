"""What the charging system makes, against all that is drawn: at cruise, and at idle."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.calculations.calculation import Calculation, Input, Output
from rules.units import AmpHours, Amps, Hours


@dataclass(frozen=True, slots=True, kw_only=True)
class Balance:
    """What is left of the charging output.

    Attributes:
        headroom_a: What is left; below zero if more is drawn than made.
        deficit_a: What the battery gives; zero if enough is made.
        drawn_a: All that is drawn.
    """

    headroom_a: Amps
    deficit_a: Amps
    drawn_a: Amps


def charging_balance(
    output_a: Amps, bike_a: Amps, amplifiers_a: Amps, extras_a: tuple[Amps, ...] = (0.0,)
) -> Balance:
    """What is left of a bike's charging output with everything on.

    Args:
        output_a: What the charging system makes, hot, at the speed in question [A]. Of this bike: figures
            published for cars do not describe a motorcycle's stator.
        bike_a: What the bike itself draws: ignition, injection, lamps, fans [A].
        amplifiers_a: Amplifiers at one-third power with their idle draw at cruise; their idle draw or one-third
            power at idle, as they are used [A].
        extras_a: Everything else that is switched on: each piece of heated clothing, grips, lamps, chargers [A].

    Equation: headroom = output - bike - extras - amplifiers.
    Source: balance of currents.

    Example:
        >>> round(charging_balance(40.0, 22.0, 16.34).headroom_a, 2)
        1.66
    """
    drawn = math.fsum((bike_a, amplifiers_a, *extras_a))
    headroom = output_a - drawn
    return Balance(headroom_a=headroom, deficit_a=max(0.0, -headroom), drawn_a=drawn)


@dataclass(frozen=True, slots=True, kw_only=True)
class IdleBalance:
    """What standing with the engine idling does to the battery. A deficit is a caution, never a refusal.

    Attributes:
        deficit_a: What the battery gives.
        time_h: Until as much is taken out as may be. None if nothing is taken out.
    """

    deficit_a: Amps
    headroom_a: Amps
    time_h: Hours | None


def idle_balance(
    output_a: Amps,
    bike_a: Amps,
    amplifiers_a: Amps,
    usable_ah: AmpHours,
    extras_a: tuple[Amps, ...] = (0.0,),
) -> IdleBalance:
    """How long a bike may idle with everything on.

    Args:
        output_a: What the charging system makes at idle, hot [A].
        usable_ah: What may be taken from the battery [Ah]; see the calculation of parked time.
        bike_a, amplifiers_a, extras_a: As for `charging_balance`.

    Equation: t = usable / deficit.
    Source: balance of currents.

    Example:
        >>> idle_balance(10.0, 11.0, 2.0, 6.0).time_h
        2.0
    """
    balance = charging_balance(output_a, bike_a, amplifiers_a, extras_a)
    lasts = usable_ah / balance.deficit_a if balance.deficit_a > 0 else None
    return IdleBalance(deficit_a=balance.deficit_a, headroom_a=balance.headroom_a, time_h=lasts)


def _drawn(when: str) -> tuple[Input, ...]:
    return (
        Input(
            name="output_a",
            unit="A",
            meaning=f"what the charging system makes {when}, hot",
            least=0,
            most=500,
        ),
        Input(name="bike_a", unit="A", meaning="what the bike itself draws", least=0, most=500),
        Input(name="amplifiers_a", unit="A", meaning=f"what the amplifiers draw {when}", least=0, most=500),
    )


EXTRAS = Input(
    name="extras_a",
    unit="A",
    meaning="each piece of heated clothing, grips, lamps, chargers",
    kind="numbers",
    least=0,
    most=100,
    default=(0.0,),
)

CALCULATIONS = (
    Calculation(
        id="charging_balance",
        title="What is left of the charging output at cruise",
        topic="charging",
        function=charging_balance,
        inputs=(*_drawn("at cruise"), EXTRAS),
        output=Output(name="headroom_a", unit="A", meaning="left over; below zero if too much is drawn"),
        others=(
            Output(name="deficit_a", unit="A", meaning="what the battery has to give"),
            Output(name="drawn_a", unit="A", meaning="all that is drawn"),
        ),
        equation="headroom = output - bike - extras - amplifiers",
        validity="averages over minutes; output of this bike, not of a car's alternator",
        source="balance of currents",
        cautions=("estimate", "battery"),
    ),
    Calculation(
        id="idle_balance",
        title="How long the bike may idle with everything on",
        topic="charging",
        function=idle_balance,
        inputs=(
            *_drawn("at idle"),
            Input(
                name="usable_ah",
                unit="A*h",
                meaning="what may be taken from the battery",
                least=0,
                most=300,
            ),
            EXTRAS,
        ),
        output=Output(name="deficit_a", unit="A", meaning="what the battery gives"),
        others=(
            Output(name="headroom_a", unit="A", meaning="left over; below zero if too much is drawn"),
            Output(
                name="time_h",
                unit="h",
                meaning="until as much is taken out as may be",
                none="nothing is taken out",
            ),
        ),
        equation="deficit = bike + extras + amplifiers - output; t = usable / deficit",
        validity="a deficit at idle is a caution, not a refusal",
        source="balance of currents",
        cautions=("estimate", "battery", "parked"),
    ),
)
