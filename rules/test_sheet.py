"""What was measured at the end of a visit, as it is written down: voltages, polarity, filters, photos, and who signed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from rules.build import Placement

Heard = Literal["right", "turned", "not_checked"]
"""What a comparison of polarity gave: as it should be, one turned round, or nobody listened."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelReading:
    """One channel as it was set and measured; None where nobody wrote it down.

    Attributes:
        measured_v: AC voltage at the channel with the test tone at the volume reference [V RMS].
        high_pass_hz, low_pass_hz: As set [Hz]; None for none.
        sits_in: Which device filters: amplifier, head_unit, capacitor, or nothing.
    """

    source: Placement
    channel: str
    measured_v: float | None = None
    high_pass_hz: float | None = None
    low_pass_hz: float | None = None
    sits_in: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PolarityHeard:
    """One comparison of the polarity check, as the fitting sheet names it."""

    compare: str
    heard: Heard


@dataclass(frozen=True, slots=True, kw_only=True)
class FilledTestSheet:
    """Everything that was measured; None where nobody wrote it down.

    Attributes:
        rest_v: Battery, engine off, after at least an hour [V DC].
        idle_v: Battery, engine idling, everything on and playing [V DC].
        raised_v: The same at the engine speed of easy riding [V DC].
        amplifier_v: At the supply terminals of the amplifier, at the same time as `raised_v` [V DC].
        photos: References of photos, in the shop's own filing.
        steers_freely: Lock to lock, nothing pulls or rubs.
        lids_close: Nothing is pinched.
        signed_by: Who answers for it; empty until it is signed.
    """

    on: date
    by: str
    rest_v: float | None = None
    idle_v: float | None = None
    raised_v: float | None = None
    amplifier_v: float | None = None
    channels: tuple[ChannelReading, ...] = ()
    polarity: tuple[PolarityHeard, ...] = ()
    steers_freely: bool | None = None
    lids_close: bool | None = None
    photos: tuple[str, ...] = ()
    notes: str = ""
    signed_by: str = ""
    signed_on: date | None = None
