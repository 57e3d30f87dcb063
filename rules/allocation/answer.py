"""What an allocation answers: the best one, or the smallest reason why there is none."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from rules.allocation.question import Side

Limit = Literal["kept", "bridge", "alike", "lowest_impedance", "speaker_power"]
LIMITS: tuple[Limit, ...] = ("kept", "bridge", "alike", "lowest_impedance", "speaker_power")
"""What can stand in the way, in the order in which a refusal names it."""

SHARING = "They share one gain, one set of filters and one place on the fader, and cannot be set apart."
"""What is told of zones that share channels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SideFed:
    """One speaker and its channel: the channel's whole load [ohm] and power [W], and the speaker's share of it [W].

    `margin` is the speaker's continuous rating over its share: below one, a preset must cap the power.
    """

    zone: str
    side: Side
    source: str
    output: str
    load_ohm: float
    channel_w: float
    share_w: float
    margin: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Allocation:
    """The best allocation. `shared` lists the zones that share channels; `says` what that means, or nothing."""

    feeds: tuple[SideFed, ...]
    shared: tuple[tuple[str, ...], ...]

    @property
    def capped(self) -> tuple[str, ...]:
        """Give the sources that need a preset that caps their power."""
        return tuple(sorted({fed.source for fed in self.feeds if fed.margin < 1}))

    @property
    def says(self) -> str:
        """Tell what sharing means, where there is any."""
        return SHARING if self.shared else ""


@dataclass(frozen=True, slots=True, kw_only=True)
class NoAllocation:
    """There is none: `zones` cannot be fed together, and could be without any one of them.

    `would_help` lists the limits any one of which, lifted, would let them be fed; none where channels are too few.
    """

    zones: tuple[str, ...]
    would_help: tuple[Limit, ...]
