"""How long ears may hear a level: allowed time, allowed level, dose."""

from __future__ import annotations

import math
from dataclasses import dataclass

from rules.acoustics.level import REFERENCE_PA
from rules.calculations.calculation import Calculation, Input, Output
from rules.errors import MalformedQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Criterion:
    """A published rule: this level for so many hours, and for each step more half of the time.

    Attributes:
        hours: Per day; per week where `per` says so.
        exchange_db: Step that halves the time [dB]; 3 is equal energy.
    """

    name: str
    level_dba: float
    hours: float
    exchange_db: float
    per: str
    source: str


EQUAL_ENERGY_DB = 10 * math.log10(2)
"""Twice the energy [dB]: exactly the '3 dB' where a rule is of energy and not of a printed table."""

CRITERIA = {
    x.name: x
    for x in (
        Criterion(
            name="niosh",
            level_dba=85,
            hours=8,
            exchange_db=3,
            per="day",
            source="NIOSH 98-126 table 1-1",
        ),
        Criterion(
            name="osha",
            level_dba=90,
            hours=8,
            exchange_db=5,
            per="day",
            source="29 CFR 1910.95 tables G-16 and G-16a",
        ),
        Criterion(
            name="canada",
            level_dba=87,
            hours=8,
            exchange_db=3,
            per="day",
            source="National Joint Council directive",
        ),
        Criterion(
            name="eu_lower",
            level_dba=80,
            hours=8,
            exchange_db=EQUAL_ENERGY_DB,
            per="day",
            source="Directive 2003/10/EC article 3, lower exposure action value",
        ),
        Criterion(
            name="eu_upper",
            level_dba=85,
            hours=8,
            exchange_db=EQUAL_ENERGY_DB,
            per="day",
            source="Directive 2003/10/EC article 3, upper exposure action value",
        ),
        Criterion(
            name="eu_limit",
            level_dba=87,
            hours=8,
            exchange_db=EQUAL_ENERGY_DB,
            per="day",
            source="Directive 2003/10/EC article 3, exposure limit value",
        ),
        Criterion(
            name="who",
            level_dba=80,
            hours=40,
            exchange_db=EQUAL_ENERGY_DB,
            per="week",
            source="WHO-ITU H.870, adults",
        ),
        Criterion(
            name="who_sensitive",
            level_dba=75,
            hours=40,
            exchange_db=EQUAL_ENERGY_DB,
            per="week",
            source="WHO-ITU H.870, sensitive users",
        ),
    )
}


def allowed_hours(level_dba: float, criterion: str) -> float:
    """Time that a criterion allows at a level.

    Args:
        level_dba: Level at the ear [dBA].
        criterion: Name in `CRITERIA`.

    Returns: [h] a day, or a week for the WHO ones. Not cut off at a day: 80 dBA by NIOSH is more than 24 h.

    Equation: T = T_c x 2^((L_c - L) / q).
    Validity: steady sound. No criterion allows peaks above 140 dB, and a workplace rule is no promise of unharmed ears:
        NIOSH expects some loss in a part of those who keep to it.
    Source: NIOSH 98-126; 29 CFR 1910.95; WHO-ITU H.870; see `CRITERIA`.

    Example:
        >>> allowed_hours(94, "niosh"), allowed_hours(100, "osha")
        (1.0, 2.0)
    """
    rule = CRITERIA[criterion]
    return float(rule.hours * 2 ** ((rule.level_dba - level_dba) / rule.exchange_db))


def allowed_level(hours: float, criterion: str) -> float:
    """Level that a criterion allows for a time: the reverse of `allowed_hours`.

    Args:
        hours: Per day, or per week for the WHO ones [h], above zero.

    Returns: [dBA].

    Example:
        >>> allowed_level(40, "who")
        80.0
    """
    rule = CRITERIA[criterion]
    return rule.level_dba + rule.exchange_db * math.log2(rule.hours / hours)


def noise_dose(hours: tuple[float, ...], allowed: tuple[float, ...]) -> float:
    """Dose of a day in several parts.

    Args:
        hours: Time spent in each part [h].
        allowed: Time allowed at the level of each [h], one per part.

    Returns: [%]; 100 uses the allowance up.

    Raises: MalformedQuestion if there is not one allowed time for each part.

    Equation: D = 100 x sum of C_i / T_i.
    Source: 29 CFR 1910.95 appendix A I(1); NIOSH 98-126.

    Example:
        >>> noise_dose((1, 4), (2, 8))
        100.0
    """
    if len(hours) != len(allowed):
        raise MalformedQuestion(
            "allowed", "there is not one allowed time for each part", "give as many as there are hours"
        )
    return 100 * math.fsum(spent / limit for spent, limit in zip(hours, allowed, strict=True))


def daily_level(level_dba: float, hours: float) -> float:
    """What a part of the day contributes to the level over eight hours.

    Returns: [dBA], LEX,8h.

    Equation: L + 10 log10(T / 8 h).
    Source: ISO 9612, second-hand.

    Example:
        >>> round(daily_level(80.8, 5), 1)
        78.8
    """
    return level_dba + 10 * math.log10(hours / 8)


def sound_exposure(level_dba: float, hours: float) -> float:
    """Sound exposure of a level for a time, as weekly allowances are given.

    Returns: [Pa^2 h].

    Equation: E = p^2 x T, p = 20 uPa x 10^(L / 20).
    Source: WHO-ITU H.870, second-hand.

    Example:
        >>> round(sound_exposure(75, 40), 2)
        0.51
    """
    return REFERENCE_PA**2 * 10 ** (level_dba / 10) * hours


LEVEL = Input(name="level_dba", unit="dBA", meaning="level at the ear", least=30, most=140)
HOURS = Input(name="hours", unit="h", meaning="time at that level", least=0.001, most=168)
CRITERION = Input(
    name="criterion",
    unit="1",
    meaning="whose rule; the WHO ones are per week, the others per day",
    kind="word",
    choices=tuple(CRITERIA),
    default="niosh",
)
RULES = "NIOSH 98-126; 29 CFR 1910.95; NJC directive; Directive 2003/10/EC; WHO-ITU H.870 (second-hand)"
STEADY = "steady sound; a rule for workplaces or for listening is no promise of unharmed ears"
EARS = ("estimate", "hearing")

CALCULATIONS = (
    Calculation(
        id="allowed_time",
        title="Time that ears may hear a level",
        topic="hearing",
        function=allowed_hours,
        inputs=(LEVEL, CRITERION),
        output=Output(name="hours", unit="h", meaning="per day; per week for the WHO criteria"),
        equation="T = T_c x 2^((L_c - L) / q)",
        validity=STEADY,
        source=RULES,
        cautions=EARS,
    ),
    Calculation(
        id="allowed_level",
        title="Level that ears may hear for a time",
        topic="hearing",
        function=allowed_level,
        inputs=(HOURS, CRITERION),
        output=Output(name="level_dba", unit="dBA", meaning="level that the criterion allows for so long"),
        equation="L = L_c + q log2(T_c / T)",
        validity=STEADY,
        source=RULES,
        cautions=EARS,
    ),
    Calculation(
        id="noise_dose",
        title="Dose of a day in several parts",
        topic="hearing",
        function=noise_dose,
        inputs=(
            Input(
                name="hours", unit="h", meaning="time spent in each part", kind="numbers", least=0, most=168
            ),
            Input(
                name="allowed",
                unit="h",
                meaning="time allowed at the level of each part",
                kind="numbers",
                least=1e-6,
                most=1e6,
            ),
        ),
        output=Output(name="dose_percent", unit="%", meaning="100 uses the allowance up"),
        equation="D = 100 x sum of C_i / T_i",
        validity=STEADY,
        source="29 CFR 1910.95 appendix A I(1); NIOSH 98-126",
        cautions=EARS,
    ),
    Calculation(
        id="daily_level",
        title="What a part of the day adds to the level over eight hours",
        topic="hearing",
        function=daily_level,
        inputs=(LEVEL, HOURS),
        output=Output(name="level_dba", unit="dBA", meaning="contribution to LEX,8h"),
        equation="L + 10 log10(T / 8 h)",
        validity="equal energy",
        source="ISO 9612, second-hand",
        cautions=EARS,
    ),
    Calculation(
        id="sound_exposure",
        title="Sound exposure of a level for a time",
        topic="hearing",
        function=sound_exposure,
        inputs=(LEVEL, HOURS),
        output=Output(name="exposure", unit="Pa^2 h", meaning="sound exposure"),
        equation="E = (20 uPa)^2 x 10^(L / 10) x T",
        validity="equal energy",
        source="WHO-ITU H.870, second-hand",
        cautions=EARS,
    ),
)
