"""Zones that share channels: the ways to form groups of them, and how well a channel serves one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rules.allocation.answer import Limit
from rules.allocation.question import Output, Source, ZoneLoad
from rules.electrical.load import exact, parallel_impedance, power_share, rated_power

Group = tuple[ZoneLoad, ...]


def partitions(zones: tuple[ZoneLoad, ...]) -> Iterator[tuple[Group, ...]]:
    """Give every way to form groups of zones; a pair shares with pairs only, what is single with what is single."""
    if not zones:
        yield ()
        return
    *before, zone = zones
    for groups in partitions(tuple(before)):
        yield (*groups, (zone,))
        for at, group in enumerate(groups):
            if group[0].pair == zone.pair:
                yield (*groups[:at], (*group, zone), *groups[at + 1 :])


def sharing(groups: tuple[Group, ...]) -> int:
    """Count the zones that share channels with another."""
    return sum(len(group) for group in groups if len(group) > 1)


@dataclass(frozen=True, slots=True)
class Worth:
    """How well zones are served: speakers whose share exceeds their rating, and the least served share.

    A speaker's served share is what it gets of its continuous rating, at most one.
    """

    over: int
    served: Fraction

    @property
    def key(self) -> tuple[int, Fraction]:
        """Order: the better, the smaller."""
        return self.over, -self.served

    def with_(self, other: Worth) -> Worth:
        """Give the worth of both together."""
        return Worth(self.over + other.over, min(self.served, other.served))


NOTHING = Worth(0, Fraction(1))
"""The worth of no zone at all."""


def load_on(group: Group) -> Fraction:
    """Give the parallel impedance of one side of a group [ohm]."""
    return parallel_impedance(zone.impedance_ohm for zone in group)


def judge(group: Group, source: Source, output: Output, lifted: Limit | None) -> Worth | None:
    """Judge a group on channels of one rating; None where a limit refuses it.

    Power is the rated one at the largest rated impedance not above the load; nothing is extrapolated below that.
    """
    ohms = load_on(group)
    if ohms < exact(output.min_ohm) and lifted != "lowest_impedance":
        return None
    watts = rated_power(output.watts, ohms)
    if watts is None:
        # Without a rated figure nobody knows what the speakers would get.
        return NOTHING if lifted in ("lowest_impedance", "speaker_power") else None
    shares = [power_share(watts, ohms, zone.impedance_ohm) / exact(zone.rms_w) for zone in group]
    over = sum(share > 1 for share in shares) * len(group[0].sides)
    if over and not source.caps and lifted != "speaker_power":
        return None
    return Worth(over, min(Fraction(1), *shares))
