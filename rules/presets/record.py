"""What a preset was made for and with, and what voids it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from rules.presets.tone import Tone


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelSetting:
    """What was set on one channel.

    Attributes:
        channel: Its name on the amplifier.
        zones: What it feeds, as shown; two zones on one channel share gain, filters and fader.
        impedance_ohm: Connected load [ohm].
        target_v: At full scale [V RMS].
        high_pass_hz: [Hz]; None for none.
        low_pass_hz: [Hz]; None for none.
        sits_in: Which device filters.
        tone: What the gain was set with.
    """

    channel: str
    zones: tuple[str, ...]
    impedance_ohm: float
    target_v: float
    high_pass_hz: float | None
    low_pass_hz: float | None
    sits_in: str
    tone: Tone


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetRecord:
    """A preset as made: the chain that it holds for, and its settings.

    Attributes:
        software: Of the head unit, as it shows it.
        serial: Of the amplifier.
        volume_step: Volume reference.
        made_on: Day.
        made_by: Who.
    """

    head_unit: str
    software: str
    amplifier: str
    serial: str
    volume_step: int
    channels: tuple[ChannelSetting, ...]
    made_on: date
    made_by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    """One thing that voids a preset. `id` names it; `says` tells an installer why."""

    id: str
    says: str


VOIDS = (
    Void(id="head_unit", says="another head unit: its output voltage is another"),
    Void(id="software", says="other software on the head unit: a flash can change its output, its filters and its clean volume"),
    Void(id="amplifier", says="another amplifier, even of the same kind: gain controls differ from piece to piece"),
    Void(id="channel", says="other zones on a channel: what it feeds has changed"),
    Void(id="impedance", says="another connected load: the same voltage is another power"),
    Void(id="filters", says="other filters, or filters in another device: the speakers get notes that they were kept from"),
    Void(id="volume", says="another volume reference: the head unit's voltage there is another"),
)  # fmt: skip
"""Everything that voids a preset. Source: common practice, no source."""

SAME_OHM = 0.05
"""Loads that differ by less are the same [1]: readings of one speaker differ by as much."""


def voided_by(made: PresetRecord, now: PresetRecord) -> tuple[Void, ...]:
    """Give what voids a preset, comparing the chain it was made for with the chain as it is now.

    Args:
        made: The preset as made.
        now: The same record as it would be written today.

    Returns: Every reason, in the order of `VOIDS`; empty if the preset still holds. Day, maker, target and tone do
        not matter.
    """
    before, after = {x.channel: x for x in made.channels}, {x.channel: x for x in now.channels}
    both = [(before[name], after[name]) for name in before.keys() & after.keys()]
    changed = {
        "head_unit": made.head_unit != now.head_unit,
        "software": made.software != now.software,
        "amplifier": (made.amplifier, made.serial) != (now.amplifier, now.serial),
        "channel": before.keys() != after.keys() or any(x.zones != y.zones for x, y in both),
        "impedance": any(not _same_load(x.impedance_ohm, y.impedance_ohm) for x, y in both),
        "filters": any(_filters(x) != _filters(y) for x, y in both),
        "volume": made.volume_step != now.volume_step,
    }
    return tuple(x for x in VOIDS if changed[x.id])


def _same_load(before: float, after: float) -> bool:
    return abs(before - after) <= SAME_OHM * before


def _filters(setting: ChannelSetting) -> tuple[float | None, float | None, str]:
    return setting.high_pass_hz, setting.low_pass_hz, setting.sits_in
