"""What is set on each amplifier: filters in one device, gain, test tone, volume reference, and the label's text."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from rules.build import Placement
from rules.figures.channels import ChannelFigures
from rules.figures.figure import Known, VisitFigure, figure, known_only, missing_of
from rules.figures.ridden import Ridden, stated
from rules.presets.label import preset_label
from rules.presets.record import ChannelSetting, PresetRecord
from rules.presets.tone import Tone
from rules.verdict import Cause

BLANK = "________"
"""What is written in by hand when the preset is made."""

PODS = {"sealed": "sealed", "ported": "vented", "open": "open"}
"""What a catalog calls an enclosure, in the words of `speaker_in_pod`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneFigures:
    """The filters of one speaker part at its place: how it does in its pod, and what to set."""

    speaker: Placement
    pod: VisitFigure
    filters: VisitFigure


@dataclass(frozen=True, slots=True, kw_only=True)
class GainFigures:
    """The gain of one amplifier channel, and the tone that it is set with."""

    channel: ChannelFigures
    gain: VisitFigure
    tone: VisitFigure
    high_pass: Known
    low_pass: Known
    sits_in: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Label:
    """The label of a preset that is made in a visit; no lines where facts are missing."""

    amplifier: Placement
    lines: tuple[str, ...] = ()
    sentence: str = ""
    missing: tuple[Cause, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class PresetFigures:
    """All that is set."""

    zones: tuple[ZoneFigures, ...]
    volume: tuple[VisitFigure, ...]
    gains: tuple[GainFigures, ...]
    labels: tuple[Label, ...]

    @property
    def all(self) -> Iterator[VisitFigure]:
        """Give every figure."""
        for zone in self.zones:
            yield from (zone.pod, zone.filters)
        yield from self.volume
        for one in self.gains:
            yield from (one.gain, one.tone)


def preset_figures(ridden: Ridden, channels: tuple[ChannelFigures, ...]) -> PresetFigures:
    """Work out what is set on every amplifier, and the labels of the presets that are made."""
    zones = _zones(ridden, channels)
    volume = _volume(ridden) if ridden.of_kind("amplifier") else ()
    gains = tuple(
        _gain(ridden, channel, zones)
        for channel in channels
        if ridden.part(channel.which[0]).kind == "amplifier"
    )
    labels = tuple(_label(ridden, x.amplifier, gains, volume) for x in ridden.visit.presets)
    return PresetFigures(zones=zones, volume=volume, gains=gains, labels=labels)


# --- filters --------------------------------------------------------------------------------------------------------


def _zones(ridden: Ridden, channels: tuple[ChannelFigures, ...]) -> tuple[ZoneFigures, ...]:
    sources = {ridden.speaker(feed): x.which[0] for x in channels for feed in x.feeds}
    places = ridden.bench.tables.catalog.places
    pairs = [x for x in ridden.zones if places[x.place].pair]
    found = [_zone(ridden, x, sources[x], ()) for x in pairs]
    above = tuple(x.filters for x in found)
    found += [_zone(ridden, x, sources[x], above) for x in ridden.zones if x not in pairs]
    return tuple(found)


def _zone(
    ridden: Ridden, speaker: Placement, source: Placement, above: tuple[VisitFigure, ...]
) -> ZoneFigures:
    """Recommend filters; a zone that is no pair hands over to those above where the highest of them begins."""
    pod = _pod(ridden, speaker)
    lowest = ridden.fact("part.lowest_hz", speaker)
    ends = {"speaker_lowest_hz": lowest, "pod_lowest_hz": pod.known("lowest_hz")}
    given = {
        **(known_only(ends) or {"speaker_lowest_hz": lowest}),
        "amplifier": _filters(ridden, "amplifier", source),
        "head_unit": _head_filters(ridden),
        "impedance_ohm": ridden.fact("part.impedance_ohm", speaker),
        **_hands_over(above),
    }
    return ZoneFigures(speaker=speaker, pod=pod, filters=figure(str(speaker), "zone_filter", given))


def _pod(ridden: Ridden, speaker: Placement) -> VisitFigure:
    tuning = ridden.enclosure(speaker.place, "tuning")
    pod = Known(value=PODS.get(str(tuning.value)) if tuning.value else None, causes=tuning.causes)
    return figure(
        str(speaker),
        "speaker_in_pod",
        {
            "pod": pod,
            "resonance_hz": ridden.fact("part.resonance_hz", speaker),
            "q": ridden.fact("part.total_q_ratio", speaker),
            "vas_l": ridden.fact("part.vas_l", speaker),
            "volume_l": ridden.enclosure(speaker.place, "volume_l"),
            **(_vent(ridden, speaker) if pod.value == "vented" else {}),
        },
    )


def _vent(ridden: Ridden, speaker: Placement) -> dict[str, Known]:
    return {
        "vent_mm": ridden.fact("place.vent_mm", speaker),
        "vent_length_mm": ridden.fact("place.vent_length_mm", speaker),
    }


def _filters(ridden: Ridden, kind: str, placed: Placement) -> Known:
    if ridden.part(placed).kind != kind:
        return stated("none", "the head unit drives this zone itself")
    return ridden.word("part.filters", placed)


def _head_filters(ridden: Ridden) -> Known:
    heads = ridden.of_kind("head_unit")
    return ridden.word("part.filters", heads[0]) if heads else Known(value=None, why="there is no head unit")


def _hands_over(above: tuple[VisitFigure, ...]) -> dict[str, Known]:
    if not above:
        return {}
    unknown = next((x for x in above if not x.is_verified), None)
    if unknown is not None:
        return {"hands_over_hz": unknown.known("high_pass_hz")}
    highest = max(above, key=lambda x: _hz(x.known("high_pass_hz")))
    return {"hands_over_hz": highest.known("high_pass_hz")}


def _hz(known: Known) -> float:
    return float(known.value) if isinstance(known.value, int | float) else 0.0


# --- gains ----------------------------------------------------------------------------------------------------------


def _volume(ridden: Ridden) -> tuple[VisitFigure, ...]:
    return tuple(
        figure(
            str(head),
            "volume_reference",
            {
                "steps": ridden.fact("part.volume_steps_count", head),
                "last_clean_step": ridden.fact("part.clean_step_count", head),
            },
        )
        for head in ridden.of_kind("head_unit")
    )


def _gain(ridden: Ridden, channel: ChannelFigures, zones: tuple[ZoneFigures, ...]) -> GainFigures:
    amplifier, about = channel.which[0], f"{channel.which[0]}:{channel.which[1]}"
    found = figure(
        about,
        "gain",
        {
            "power": channel.power.known(),
            "impedance": channel.load.known(),
            **_speakers(ridden, channel),
            "source": _clean(ridden),
            "most_gain": ridden.fact("part.most_gain_ratio", amplifier),
        },
    )
    speakers = {ridden.speaker(feed) for feed in channel.feeds}
    filters = tuple(x.filters for x in zones if x.speaker in speakers)
    high, low = _highest(filters), _lowest(filters)
    tone = figure(
        about,
        "gain_tone",
        {"target_v": found.known("volts"), "high_pass_hz": high, **known_only({"low_pass_hz": low})},
    )
    sits_in = next((str(x.figures["sits_in"].value) for x in filters if x.is_verified), "")
    return GainFigures(channel=channel, gain=found, tone=tone, high_pass=high, low_pass=low, sits_in=sits_in)


def _speakers(ridden: Ridden, channel: ChannelFigures) -> dict[str, Known]:
    placed = [ridden.speaker(feed) for feed in channel.feeds]
    return {
        name: ridden.each(fact, placed)
        for name, fact in (("speaker_powers", "part.rms_w"), ("speaker_impedances", "part.impedance_ohm"))
    }


def _clean(ridden: Ridden) -> Known:
    heads = ridden.of_kind("head_unit")
    return ridden.fact("part.clean_v", heads[0]) if heads else Known(value=None, why="there is no head unit")


def _highest(filters: tuple[VisitFigure, ...]) -> Known:
    """Give the high-pass of a channel: what protects the weakest zone on it, so not known unless all are."""
    unknown = next((x for x in filters if not x.is_verified), None)
    if unknown is not None or not filters:
        return unknown.known() if unknown else Known(value=None, why="this channel feeds nothing")
    return max((x.known("high_pass_hz") for x in filters), key=_hz)


def _lowest(filters: tuple[VisitFigure, ...]) -> Known:
    ends = [x.known("low_pass_hz") for x in filters]
    return min((x for x in ends if x.value is not None), key=_hz, default=Known(value=None))


# --- label ----------------------------------------------------------------------------------------------------------


def _label(
    ridden: Ridden, amplifier: Placement, gains: tuple[GainFigures, ...], volume: tuple[VisitFigure, ...]
) -> Label:
    own = tuple(x for x in gains if x.channel.which[0] == amplifier)
    needed = (*volume, *(x.tone for x in own), *(x.gain for x in own))
    if not own or not all(x.is_verified for x in needed):
        missing = tuple(missing_of(needed))
        why = next((x.why for x in needed if x.why), "" if own else "this amplifier feeds nothing")
        return Label(amplifier=amplifier, missing=missing, why="" if missing else why)
    head = ridden.of_kind("head_unit")[0]
    label = preset_label(
        PresetRecord(
            head_unit=ridden.part(head).name,
            software=BLANK,
            amplifier=ridden.part(amplifier).name,
            serial=BLANK,
            volume_step=int(_hz(volume[0].known())),
            channels=tuple(_setting(ridden, x) for x in own),
            made_on=ridden.visit.on,
            made_by=BLANK,
        )
    )
    return Label(amplifier=amplifier, lines=label.lines, sentence=label.sentence)


def _setting(ridden: Ridden, one: GainFigures) -> ChannelSetting:
    return ChannelSetting(
        channel=one.channel.which[1].replace("_", " "),
        zones=tuple(dict.fromkeys(ridden.zone(feed.place) for feed in one.channel.feeds)),
        impedance_ohm=_hz(one.channel.load.known()),
        target_v=_hz(one.gain.known("volts")),
        high_pass_hz=_hz(one.high_pass),
        low_pass_hz=None if one.low_pass.value is None else _hz(one.low_pass),
        sits_in=one.sits_in,
        tone=_tone(one.tone),
    )


def _tone(told: VisitFigure) -> Tone:
    number = {name: _hz(told.known(name)) for name in ("frequency_hz", "reading_v", "level_dbfs")}
    return Tone(
        **number,
        inside_octaves=_hz(told.known("inside_octaves")),
        seconds=_hz(told.known("seconds")),
        pause_s=_hz(told.known("pause_s")),
        instrument=str(told.figures["instrument"].value),
    )
