"""The label that goes on a preset amplifier: what it holds for, what was set, what voids it."""

from __future__ import annotations

from dataclasses import dataclass

from rules.presets.record import VOIDS, ChannelSetting, PresetRecord


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetLabel:
    """The text of a label.

    Attributes:
        lines: As printed on it, top to bottom.
        sentence: All of it in words, for a sheet or to be read out.
    """

    lines: tuple[str, ...]
    sentence: str


def preset_label(record: PresetRecord) -> PresetLabel:
    """Write a preset's label."""
    voids = "; ".join(x.says.split(":")[0] for x in VOIDS)
    return PresetLabel(
        lines=(
            f"{record.amplifier}, serial {record.serial}",
            f"for {record.head_unit}, software {record.software}, volume {record.volume_step}",
            *(_line(x) for x in record.channels),
            f"set {record.made_on.isoformat()} by {record.made_by}",
            f"void with {voids}",
        ),
        sentence=_sentence(record),
    )


def _line(setting: ChannelSetting) -> str:
    return (
        f"{setting.channel}: {' + '.join(setting.zones)}, {setting.impedance_ohm:g} ohm,"
        f" {setting.target_v:.1f} V, {_passband(setting)};"
        f" reads {setting.tone.reading_v:.1f} V at {setting.tone.frequency_hz:g} Hz, {setting.tone.level_dbfs:g} dBFS"
    )


def _passband(setting: ChannelSetting) -> str:
    ends = [
        f"{name} {hz:g} Hz"
        for name, hz in (("from", setting.high_pass_hz), ("up to", setting.low_pass_hz))
        if hz is not None
    ]
    return f"{' '.join(ends)} in {setting.sits_in.replace('_', ' ')}" if ends else "no filter"


def _sentence(record: PresetRecord) -> str:
    zones = " and ".join(dict.fromkeys(zone for x in record.channels for zone in x.zones))
    return (
        f"This {record.amplifier} (serial {record.serial}) is set for {zones} behind {record.head_unit} with software"
        f" {record.software}, at volume {record.volume_step}, on {record.made_on.isoformat()}. It holds for this chain"
        " alone: after any change in it, have it set again."
    )
