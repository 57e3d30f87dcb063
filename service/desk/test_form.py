"""The form of a test sheet, as it was filled in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from rules.errors import MalformedQuestion
from rules.test_sheet import ChannelReading, FilledTestSheet, Heard, PolarityHeard
from service.desk.asked import Fields, day_of
from service.shapes.placement import read_placement

HEARD: Mapping[str, Heard] = {"right": "right", "turned": "turned"}


VOLTS = ("rest_v", "idle_v", "raised_v", "amplifier_v")
HANDS = ("steers_freely", "lids_close")


def filled_in(sheet: FilledTestSheet | None) -> dict[str, str]:
    """Give what stands in each field of the form: a sheet that is kept again loses nothing that is not written over."""
    return {} if sheet is None else dict(_filled(sheet))


def _filled(sheet: FilledTestSheet) -> Iterator[tuple[str, str]]:
    for name in VOLTS:
        yield name, _written(getattr(sheet, name))
    for reading in sheet.channels:
        key = f"{reading.source}:{reading.channel}"
        yield f"measured:{key}", _written(reading.measured_v)
        yield f"high:{key}", _written(reading.high_pass_hz)
        yield f"low:{key}", _written(reading.low_pass_hz)
    for heard in sheet.polarity:
        yield f"heard:{heard.compare}", heard.heard
    for name in HANDS:
        yield name, "yes" if getattr(sheet, name) else ""
    yield "photos", ", ".join(sheet.photos)
    yield from ((name, getattr(sheet, name)) for name in ("notes", "by", "signed_by"))
    yield "on", sheet.on.isoformat()


def _written(value: float | None) -> str:
    return "" if value is None else f"{value:.10g}"


def read_sheet(fields: Fields, before: FilledTestSheet | None = None) -> FilledTestSheet:
    """Read a test sheet as it was filled in.

    Args:
        before: As it was kept before: where a channel's filters sit is no field of the form.

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
        channels=tuple(_channels(fields, before)),
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


def _channels(fields: Fields, before: FilledTestSheet | None) -> Iterator[ChannelReading]:
    sits = {f"{x.source}:{x.channel}": x.sits_in for x in before.channels} if before else {}
    for name in fields.all("channel"):
        owner, _, channel = name.partition(":")
        yield ChannelReading(
            source=read_placement(owner),
            channel=channel,
            measured_v=_volts(fields, f"measured:{name}"),
            high_pass_hz=_volts(fields, f"high:{name}"),
            low_pass_hz=_volts(fields, f"low:{name}"),
            sits_in=sits.get(name, ""),
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
