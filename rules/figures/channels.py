"""What each channel drives: its load, its power, and each speaker's share against its rating."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from rules.answer import Feed
from rules.catalog.facts import Unknown
from rules.figures.figure import Known, VisitFigure, figure
from rules.figures.ridden import ChannelOf, Ridden, stated, together


@dataclass(frozen=True, slots=True, kw_only=True)
class ChannelFigures:
    """The figures of one channel; `margins` has one for each speaker side on it.

    `cap` is the voltage that a preset must hold the channel to, where a speaker would get more than its rating.
    """

    which: ChannelOf
    feeds: tuple[Feed, ...]
    load: VisitFigure
    power: VisitFigure
    shares: VisitFigure
    margins: tuple[VisitFigure, ...] = ()
    cap: tuple[VisitFigure, ...] = ()

    def share(self, feed: Feed) -> Known:
        """Give a speaker's share of the power [W]."""
        return self.shares.known(item=self.feeds.index(feed))

    @property
    def all(self) -> Iterator[VisitFigure]:
        """Give all of them."""
        yield from (self.load, self.power, self.shares, *self.margins, *self.cap)


def channel_figures(ridden: Ridden, which: ChannelOf) -> ChannelFigures:
    """Work out one channel. `Feed`s of it must be there."""
    feeds, channel = ridden.channels[which], ridden.channel(which)
    about = f"{which[0]}:{which[1]}"
    ohms = tuple(ridden.fact("part.impedance_ohm", ridden.speaker(feed)) for feed in feeds)
    impedances = together(ohms, tuple)
    least = ridden.of_channel(which, "min_ohm", channel.min_ohm)
    load = figure(about, "parallel_impedance", {"impedances_ohm": impedances})
    power = figure(about, "power_at_load", {"load_ohm": load.known(), **_rated(ridden, which)})
    shares = figure(
        about,
        "power_share",
        {
            "power_w": power.known(),
            "impedances_ohm": impedances,
            "joined": stated("parallel", "speakers on one channel"),
        },
    )
    found = ChannelFigures(
        which=which, feeds=feeds, load=load.held(least, "at_least"), power=power, shares=shares
    )
    margins = tuple(_margin(ridden, found, feed) for feed in feeds)
    return replace(found, margins=margins, cap=tuple(_cap(ridden, found, impedances, margins)))


def _cap(
    ridden: Ridden, channel: ChannelFigures, impedances: Known, margins: tuple[VisitFigure, ...]
) -> Iterator[VisitFigure]:
    if all(x.limit is None or x.limit.stands for x in margins):
        return
    speakers = [ridden.speaker(feed) for feed in channel.feeds]
    given = {
        "power_w": channel.power.known(),
        "impedances_ohm": impedances,
        "ratings_w": ridden.each("part.rms_w", speakers),
    }
    yield figure(channel.load.about[0], "cap_voltage", given)


def _rated(ridden: Ridden, which: ChannelOf) -> dict[str, Known]:
    watts = ridden.channel(which).watts
    if isinstance(watts, Unknown):
        unknown = ridden.of_channel(which, "watts", watts)
        return {"rated_ohm": unknown, "rated_w": unknown}
    rated = sorted((float(ohm), power) for ohm, power in watts.items())
    return {
        "rated_ohm": ridden.of_channel(which, "watts", tuple(ohm for ohm, _ in rated)),
        "rated_w": ridden.of_channel(which, "watts", tuple(power for _, power in rated)),
    }


def _margin(ridden: Ridden, channel: ChannelFigures, feed: Feed) -> VisitFigure:
    speaker = ridden.speaker(feed)
    found = figure(
        f"{speaker}:{feed.side}",
        "rms_margin",
        {"power_w": channel.share(feed), "rating_w": ridden.fact("part.rms_w", speaker)},
    )
    return found.held(stated(0.0, "below zero a preset must cap the power"), "at_least")
