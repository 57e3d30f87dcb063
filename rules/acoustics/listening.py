"""How long a rider may listen: wind and music together."""

from __future__ import annotations

from dataclasses import dataclass

from rules.acoustics.exposure import CRITERION, RULES, STEADY, allowed_hours
from rules.acoustics.level import energy_sum
from rules.acoustics.wind import SPREAD_DB, speed_input, wind_noise
from rules.calculations.calculation import Calculation, Input, Output


@dataclass(frozen=True, slots=True, kw_only=True)
class ListeningTime:
    """Time allowed for wind and music together.

    Attributes:
        minutes: Per day, or per week for the WHO criteria: with the average wind noise [min].
        least_minutes: The same with the strongest of the published averages [min]: the one to plan with.
        wind_minutes: With the average wind noise and no music at all [min]: music only shortens it.
        wind_dba: Average wind noise at the ear, after the earplugs [dBA].
        together_dba: Wind and music at the ear [dBA].
        music_share: Part of the sound energy that is music [1].
    """

    minutes: float
    least_minutes: float
    wind_minutes: float
    wind_dba: float
    together_dba: float
    music_share: float


def listening_time(speed_kmh: float, music_dba: float, earplugs_db: float, criterion: str) -> ListeningTime:
    """Time allowed for riding at a speed with music, wind and music summed by energy.

    Args:
        speed_kmh: Speed through the air [km/h], 64 to 161.
        music_dba: Average of the music at the ear, inside the helmet and before earplugs [dBA].
        earplugs_db: What earplugs take off both [dB], as worn, not as printed; 0 without.
        criterion: Name in `CRITERIA`.

    Equation: T of `allowed_hours` at 10 log10(10^(L_wind / 10) + 10^(L_music / 10)) less the earplugs.
    Validity: as `wind_noise` and `allowed_hours`. One noise beside another never lengthens the time: nothing here is a
        reason for more level.
    Source: NIOSH 98-126; 29 CFR 1910.95; WHO-ITU H.870; McCombe 1994.

    Example:
        >>> round(listening_time(80, 85, 0, "niosh").minutes)
        46
    """
    wind = wind_noise(speed_kmh).level_dba - earplugs_db
    music = music_dba - earplugs_db
    together = energy_sum((wind, music))
    return ListeningTime(
        minutes=60 * allowed_hours(together, criterion),
        least_minutes=60 * allowed_hours(energy_sum((wind + SPREAD_DB, music)), criterion),
        wind_minutes=60 * allowed_hours(wind, criterion),
        wind_dba=wind,
        together_dba=together,
        music_share=10 ** ((music - together) / 10),
    )


CALCULATIONS = (
    Calculation(
        id="listening_time",
        title="Time allowed for wind and music together",
        topic="hearing",
        function=listening_time,
        inputs=(
            speed_input("speed_kmh", "speed through the air"),
            Input(
                name="music_dba",
                unit="dBA",
                meaning="average of the music at the ear, before earplugs",
                least=30,
                most=140,
            ),
            Input(
                name="earplugs_db",
                unit="dB",
                meaning="what earplugs take off, as worn",
                least=0,
                most=40,
                default=0,
            ),
            CRITERION,
        ),
        output=Output(
            name="minutes",
            unit="min",
            meaning="per day with average wind noise; per week for the WHO criteria",
        ),
        others=(
            Output(name="least_minutes", unit="min", meaning="with the strongest of published averages"),
            Output(name="wind_minutes", unit="min", meaning="with wind alone: music only shortens it"),
            Output(name="wind_dba", unit="dBA", meaning="wind noise after earplugs"),
            Output(name="together_dba", unit="dBA", meaning="wind and music after earplugs"),
            Output(name="music_share", unit="1", meaning="part of the sound energy that is music"),
        ),
        equation="T = T_c x 2^((L_c - L) / q), L = 10 log10(10^(L_wind / 10) + 10^(L_music / 10))",
        validity=STEADY + "; wind noise give or take 3 dB",
        source=RULES + "; McCombe 1994",
        cautions=("estimate", "hearing", "wind", "controls"),
    ),
)
