"""How strong the music could be at the rider's ear, for choosing between systems; and how long ears may hear that.

Never a promise, and never a reason for more: wind adds to it, and one noise beside another only shortens the time.
"""

from __future__ import annotations

from collections.abc import Iterator

from rules.answer import Feed
from rules.figures.channels import ChannelFigures
from rules.figures.figure import VisitFigure, figure
from rules.figures.ridden import Ridden, stated, together

CREST_DB = 12.0
"""Peaks of music above its average [dB]; common practice, no source."""

STATED_KMH = 100.0
"""Speed for which the allowed time is told [km/h]."""


def sound_figures(ridden: Ridden, channels: tuple[ChannelFigures, ...]) -> Iterator[VisitFigure]:
    """Work out every speaker, all of them together, and the time allowed at the stated speed."""
    levels = tuple(_level(ridden, channel, feed) for channel in channels for feed in channel.feeds)
    yield from levels
    if not levels:
        return
    bike = ridden.bench.bike.id
    each = together(tuple(x.known() for x in levels), tuple, "each speaker alone")
    total = figure(bike, "level_sum", {"levels_db": each})
    yield total
    yield figure(
        f"{bike} at {STATED_KMH:g} km/h",
        "listening_time",
        {
            "speed_kmh": stated(STATED_KMH, "stated speed"),
            "music_dba": together(
                (total.known(),),
                lambda x: x[0],
                "all speakers at full clean power, taken as A-weighted: an upper bound",
            ),
        },
    )


def _level(ridden: Ridden, channel: ChannelFigures, feed: Feed) -> VisitFigure:
    speaker = ridden.speaker(feed)
    return figure(
        f"{speaker}:{feed.side}",
        "music_level",
        {
            "sensitivity_db": ridden.fact("part.sensitivity_db", speaker),
            "amplifier_w": channel.share(feed),
            "speaker_w": ridden.fact("part.rms_w", speaker),
            "crest_db": stated(CREST_DB, "music with some life in it"),
            "distance_m": ridden.fact("place.ear_m", speaker),
        },
    )
