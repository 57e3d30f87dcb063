"""Every calculation that can be asked for, by its id: the one place where they are gathered."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType, ModuleType

from rules import currency, labour_time, quote, warranty
from rules.acoustics import (
    biquad,
    closed_box,
    exposure,
    filter_response,
    level,
    listening,
    passive_filter,
    pod,
    sensitivity,
    signal_level,
    thiele_small,
    vent,
    weighting,
    wind,
    zone_filter,
)
from rules.calculations.calculation import Answer, Calculation, Figure
from rules.electrical import (
    ampacity,
    amplifier,
    battery,
    cable,
    cable_choice,
    charging,
    conductor,
    connector,
    fuse,
    impedance,
    margin,
    mass,
    supply,
)
from rules.errors import MalformedQuestion, UnknownCalculation
from rules.presets import gain, polarity, tone, volume

MODULES: tuple[ModuleType, ...] = (
    ampacity,
    amplifier,
    battery,
    biquad,
    cable,
    cable_choice,
    charging,
    closed_box,
    conductor,
    connector,
    currency,
    exposure,
    filter_response,
    fuse,
    gain,
    impedance,
    labour_time,
    level,
    listening,
    margin,
    mass,
    passive_filter,
    pod,
    polarity,
    quote,
    sensitivity,
    signal_level,
    supply,
    thiele_small,
    tone,
    vent,
    volume,
    warranty,
    weighting,
    wind,
    zone_filter,
)
"""Each ends with the tuple of its calculations."""


def _by_id(modules: Iterable[ModuleType]) -> Mapping[str, Calculation]:
    entries: list[Calculation] = [entry for module in modules for entry in module.CALCULATIONS]
    found = {entry.id: entry for entry in sorted(entries, key=lambda entry: entry.id)}
    if len(found) < len(entries):
        message = "two calculations have one id"
        raise AssertionError(message)
    return MappingProxyType(found)


CALCULATIONS = _by_id(MODULES)
"""All calculations by id, in order of id."""


def calculation(asked: str) -> Calculation:
    """Give a calculation by its id.

    Raises:
        UnknownCalculation: With the nearest ids.
    """
    if asked not in CALCULATIONS:
        raise UnknownCalculation(asked, CALCULATIONS)
    return CALCULATIONS[asked]


def calculate(asked: Calculation, given: Mapping[str, object]) -> Answer:
    """Work out an answer that has a finite figure for everything it tells.

    Raises:
        MalformedQuestion: An input is missing, unknown or out of range; or all are in range, and together no figure
            comes of them.
    """
    try:
        answer = asked.answer(**given)
    except ArithmeticError:
        raise _no_figure() from None
    if not all(_is_finite(figure) for figure in answer.figures.values()):
        raise _no_figure()
    return answer


def _is_finite(figure: Figure) -> bool:
    values = figure.value if isinstance(figure.value, tuple) else (figure.value,)
    return all(math.isfinite(value) for value in values if isinstance(value, int | float))


def _no_figure() -> MalformedQuestion:
    return MalformedQuestion(
        "",
        "each figure is in its range, but no result comes of them together",
        "give figures that are nearer to one another",
    )
