"""The form of a test sheet, as it was filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rules.errors import MalformedQuestion
from rules.test_sheet import ChannelReading, FilledTestSheet, Heard, PolarityHeard
from service.desk.asked import Fields, day_of
from service.shapes.placement import read_placement

HEARD: Mapping[str, Heard] = {"right": "right", "turned": "turned"}


def read_sheet(fields: Fields) -> FilledTestSheet:
    """Read a test sheet as it was filled in.

    Raises:
        MalformedQuestion: A field cannot be read.
    """
    signed_by = fields.short("signed_by")
    on = day_of(fields.one("on"), "on")
    return FilledTestSheet(
        on=on,
        by=fields.short("by"),
        rest_v=_volts(fields, "rest_v"),
        idle_v=_volts(fields, "idle_v"),
        raised_v=_volts(fields, "raised_v"),
        amplifier_v=_volts(fields, "amplifier_v"),
        channels=tuple(_channels(fields)),
        polarity=tuple(
            PolarityHeard(compare=x, heard=HEARD.get(fields.one(f"heard:{x}"), "not_checked"))
            for x in fields.all("compare")
        ),
        steers_freely=fields.has("steers_freely") or None,
        lids_close=fields.has("lids_close") or None,
        photos=tuple(x.strip() for x in fields.one("photos").split(",") if x.strip()),
        notes=fields.one("notes")[:2000],
        signed_by=signed_by,
        signed_on=on if signed_by else None,
    )


def _channels(fields: Fields) -> Iterator[ChannelReading]:
    for name in fields.all("channel"):
        owner, _, channel = name.partition(":")
        yield ChannelReading(
            source=read_placement(owner),
            channel=channel,
            measured_v=_volts(fields, f"measured:{name}"),
            high_pass_hz=_volts(fields, f"high:{name}"),
            low_pass_hz=_volts(fields, f"low:{name}"),
        )


def _volts(fields: Fields, name: str) -> float | None:
    told = fields.one(name).replace(",", ".")
    if not told:
        return None
    try:
        value = float(told)
    except ValueError:
        value = -1.0
    if not 0 <= value <= 100_000:  # noqa: PLR2004 -- volts and hertz alike
        raise MalformedQuestion(name.partition(":")[0], "a reading is no number", "write it like 12.6")
    return value
