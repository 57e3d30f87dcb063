"""A test sheet held against its limits: what the plan set, what the battery may be charged with, and common practice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, cast

from rules.cautions import PRACTICE
from rules.electrical.battery import CHEMISTRIES, charge_voltage
from rules.figures import VisitFigures
from rules.figures.figure import VisitFigure
from rules.test_sheet import ChannelReading, FilledTestSheet

Outcome = Literal["within", "mind", "outside", "not_written_down"]
"""Inside its limits; worth knowing, and no reason to send the bike back; outside of them; nobody wrote it down."""

Basis = Literal["calculation", "practice"]

RESTED_V = 12.4
"""A rested battery of six lead cells below this is far from full [V]; common practice, no source."""

CHARGES_V = 13.2
"""A charging system below this at riding speed does not charge [V]; common practice, no source."""

LOST_V = 0.5
"""Most voltage that may be lost on the way to an amplifier, where nothing was worked out [V]; common practice, no source."""

METER = 0.02
"""A reading that is off by less may be the meter's own doing [1]; common practice, no source."""

LOW = 0.10
"""A channel that is set lower than planned by more plays softer than its neighbours [1]; common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """One entry of the sheet, with its limits and what they rest on.

    Attributes:
        entry: Of the sheet: rest_v, idle_v, raised_v, amplifier_v, channel, filter, polarity, steers_freely, lids_close,
            photos, signed_by.
        about: What it was measured on.
        measured: In `unit`; None where nobody wrote it down, or where it is no number.
        least, most: In the same unit, None where there is no such limit.
        cites: Id of the calculation, or that it is common practice without a source.
        says: What to do, empty if nothing.
    """

    entry: str
    about: str
    outcome: Outcome
    measured: float | None = None
    least: float | None = None
    most: float | None = None
    unit: str = ""
    basis: Basis = "practice"
    cites: str = PRACTICE
    says: str = ""


def judge(sheet: FilledTestSheet, figures: VisitFigures) -> tuple[Judged, ...]:
    """Hold a sheet against its limits, in the order of the sheet.

    Args:
        figures: Of the visit as it was planned: what its channels are set to, its filters, its comparisons.
    """
    return (*_supply(sheet, figures), *_channels(sheet, figures), *_polarity(sheet, figures), *_last(sheet))


def holds(judged: Iterable[Judged]) -> bool:
    """Tell whether everything was written down, and nothing is outside its limits."""
    return all(x.outcome in ("within", "mind") for x in judged)


# --- supply -------------------------------------------------------------------------------------------------------------


def _supply(sheet: FilledTestSheet, figures: VisitFigures) -> Iterator[Judged]:
    battery = _battery(figures)
    yield _mind_below(
        "rest_v", sheet.rest_v, RESTED_V, "charge the battery before anything else is judged by it"
    )
    yield _mind_below(
        "idle_v",
        sheet.idle_v,
        RESTED_V,
        "at idle the battery gives: tell the rider not to stand with everything on",
    )
    yield _raised(sheet.raised_v, battery)
    if _gains(figures):
        yield _lost(sheet, figures)


def _battery(figures: VisitFigures) -> str | None:
    """Give the type of the bike's battery, as far as the figures know it."""
    given = (x for figure in figures.electrical for x in figure.inputs if x.name == "battery")
    return next((str(x.known.value) for x in given if x.known.value in CHEMISTRIES), None)


def _mind_below(entry: str, measured: float | None, least: float, says: str) -> Judged:
    if measured is None:
        return _missing(entry, "battery", least=least, unit="V")
    low = measured < least
    return Judged(
        entry=entry,
        about="battery",
        outcome="mind" if low else "within",
        measured=measured,
        least=least,
        unit="V",
        says=says if low else "",
    )


def _raised(measured: float | None, battery: str | None) -> Judged:
    """Hold the charging voltage between what charges, and what the battery bears at 25 degrees."""
    most = None if battery is None else round(charge_voltage(battery).most_v, 2)
    known = _Cited("calculation", "charge_voltage") if most is not None else _Cited()
    if measured is None:
        return _missing("raised_v", "battery", least=CHARGES_V, most=most, unit="V", cited=known)
    over, under = most is not None and measured > most, measured < CHARGES_V
    says = "the regulator charges too high: not ridden until it is right" if over else ""
    return Judged(
        entry="raised_v",
        about="battery",
        outcome="outside" if over or under else "within",
        measured=measured,
        least=CHARGES_V,
        most=most,
        unit="V",
        basis=known.basis,
        cites=known.cites,
        says="the bike does not charge: find out why before it leaves" if under else says,
    )


@dataclass(frozen=True, slots=True)
class _Cited:
    basis: Basis = "practice"
    cites: str = PRACTICE


def _lost(sheet: FilledTestSheet, figures: VisitFigures) -> Judged:
    """Hold what is lost on the way to the amplifier against what was worked out for full output, and a meter's own error."""
    worked_out = [x for x in figures.electrical if x.calculation == "lead_drop" and x.is_verified]
    worst = max((_number(x.result) for x in worked_out), default=LOST_V)
    most = round(worst + METER * (sheet.raised_v or 0), 2)
    cited = _Cited("calculation", "lead_drop") if worked_out else _Cited()
    if sheet.raised_v is None or sheet.amplifier_v is None:
        return _missing("amplifier_v", "power lead", most=most, unit="V", cited=cited)
    lost = round(sheet.raised_v - sheet.amplifier_v, 3)
    bad = lost > most
    return Judged(
        entry="amplifier_v",
        about="power lead",
        outcome="outside" if bad else "within",
        measured=lost,
        most=most,
        unit="V",
        basis=cited.basis,
        cites=cited.cites,
        says="a joint or the fuse holder gets warm: find it before the bike leaves" if bad else "",
    )


# --- channels -----------------------------------------------------------------------------------------------------------


def _gains(figures: VisitFigures) -> list[VisitFigure]:
    return [x for x in figures.presets if x.calculation == "gain_tone" and x.is_verified]


def _channels(sheet: FilledTestSheet, figures: VisitFigures) -> Iterator[Judged]:
    read = {f"{x.source}:{x.channel}": x for x in sheet.channels}
    for tone in _gains(figures):
        for about in tone.about:
            yield _voltage(about, read.get(about), tone)
            yield from _filters(about, read.get(about), tone)


def _voltage(about: str, reading: ChannelReading | None, tone: VisitFigure) -> Judged:
    target = round(_number(tone.figures["reading_v"].value), 2)
    least, most = round(target * (1 - LOW), 2), round(target * (1 + METER), 2)
    cited = _Cited("calculation", "gain_tone")
    if reading is None or reading.measured_v is None:
        return _missing("channel", about, least=least, most=most, unit="V", cited=cited)
    over, low = reading.measured_v > most, reading.measured_v < least
    says = "turn this gain down: the speakers get more than they bear" if over else ""
    return Judged(
        entry="channel",
        about=about,
        outcome="outside" if over else "mind" if low else "within",
        measured=reading.measured_v,
        least=least,
        most=most,
        unit="V",
        basis=cited.basis,
        cites=cited.cites,
        says="it plays softer than the others: set it anew, or leave it if that was wanted" if low else says,
    )


def _filters(about: str, reading: ChannelReading | None, tone: VisitFigure) -> Iterator[Judged]:
    planned = {x.name: x.known.value for x in tone.inputs}
    for name in ("high_pass_hz", "low_pass_hz"):
        value = planned.get(name)
        if isinstance(value, int | float):
            yield _filter(about, name, None if reading is None else getattr(reading, name), float(value))


def _filter(about: str, name: str, set_to: float | None, planned: float) -> Judged:
    """A high-pass may be set higher than planned, a low-pass lower; never the other way: that is what harms a speaker."""
    high = name == "high_pass_hz"
    least, most = (planned, None) if high else (None, planned)
    cited = _Cited("calculation", "zone_filter")
    if set_to is None:
        return _missing("filter", about, least=least, most=most, unit="Hz", cited=cited)
    bad = set_to < planned if high else set_to > planned
    return Judged(
        entry="filter",
        about=about,
        outcome="outside" if bad else "within",
        measured=set_to,
        least=least,
        most=most,
        unit="Hz",
        basis=cited.basis,
        cites=cited.cites,
        says="set the filter as planned: it keeps from the speaker what would harm it" if bad else "",
    )


# --- by ear and by hand -------------------------------------------------------------------------------------------------


def _polarity(sheet: FilledTestSheet, figures: VisitFigures) -> Iterator[Judged]:
    heard = {x.compare: x.heard for x in sheet.polarity}
    outcomes: dict[str, Outcome] = {"right": "within", "turned": "outside"}
    for step in figures.polarity:
        outcome = outcomes.get(heard.get(step.compare, ""), "not_written_down")
        says = {"outside": step.cure, "not_written_down": step.how}.get(outcome, "")
        yield Judged(entry="polarity", about=step.compare, outcome=outcome, says=says)


def _last(sheet: FilledTestSheet) -> Iterator[Judged]:
    for entry, about, says in (
        ("steers_freely", "lock to lock", "lay the leads anew: not ridden like this"),
        ("lids_close", "lids and covers", "lay the leads anew: something is pinched"),
    ):
        is_right = getattr(sheet, entry)
        if is_right is None:
            yield _missing(entry, about)
        else:
            outcome: Outcome = "within" if is_right else "outside"
            yield Judged(entry=entry, about=about, outcome=outcome, says="" if is_right else says)
    for entry, is_there, says in (
        (
            "photos",
            bool(sheet.photos),
            "take a photo of the fuse, the joints and the label, and note where it is",
        ),
        (
            "signed_by",
            bool(sheet.signed_by and sheet.signed_on),
            "whoever answers for it signs, with the day",
        ),
    ):
        outcome = "within" if is_there else "not_written_down"
        yield Judged(entry=entry, about="sheet", outcome=outcome, says="" if is_there else says)


def _missing(
    entry: str,
    about: str,
    *,
    least: float | None = None,
    most: float | None = None,
    unit: str = "",
    cited: _Cited = _Cited(),
) -> Judged:
    return Judged(
        entry=entry,
        about=about,
        outcome="not_written_down",
        least=least,
        most=most,
        unit=unit,
        basis=cited.basis,
        cites=cited.cites,
        says="measure it, and write it down",
    )


def _number(result: object) -> float:
    return float(cast("float", result)) if isinstance(result, int | float) else 0.0
