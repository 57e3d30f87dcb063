"""Whole systems that a rider could have in the end, named by what they are; which of them a brief asks for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from rules.proposals.brief import Brief

FRONTS, REARS, LIDS, LOWERS, BASS = "fronts", "rears", "lids", "lowers", "bass"

FURTHER = (BASS, REARS, LIDS, LOWERS)
"""Which zone comes next, if the brief does not say (common practice, no source)."""

MOST_ASKED = 5
"""Systems for which a path is looked for, at most: what bounds the work."""


@dataclass(frozen=True, slots=True, kw_only=True)
class System:
    """Zones with new speakers, and whether an amplifier drives them or the radio that is there."""

    zones: tuple[str, ...]
    amplified: bool

    @property
    def name(self) -> str:
        """Say what it is."""
        pairs = _joined(x for x in self.zones if x != BASS)
        bass = ", and bass in the case" if BASS in self.zones else ""
        return (
            f"{pairs} on {'an amplifier' if self.amplified else 'the radio that is there'}{bass}".capitalize()
        )


def _joined(words: Iterable[str]) -> str:
    *first, last = words
    return f"{', '.join(first)} and {last}" if first else last


def systems_for(brief: Brief, zones: frozenset[str]) -> tuple[System, ...]:
    """Give the systems to look for, those that answer the brief best first; each differs from all others in what it is.

    Args:
        zones: That the bike has.

    Source: which zone answers which wish is common practice, no source; `rules.proposals.reasons` says it for each.
    """
    return tuple(dict.fromkeys(x for x in _systems(brief, zones) if set(x.zones) <= zones))[:MOST_ASKED]


def _systems(brief: Brief, zones: frozenset[str]) -> Iterator[System]:
    own = _zones_asked(brief)
    yield System(zones=own, amplified=False)
    yield System(zones=own, amplified=True)
    for zone in _further(brief, own, zones):
        yield System(zones=(*own, zone), amplified=True)
    yield System(zones=(FRONTS,), amplified=True)
    yield System(zones=(FRONTS,), amplified=False)


def _zones_asked(brief: Brief) -> tuple[str, ...]:
    shares = brief.passenger in ("sometimes", "often") or brief.says("passenger_hears_nothing")
    return (FRONTS, REARS) if shares else (FRONTS,)


def _further(brief: Brief, own: tuple[str, ...], zones: frozenset[str]) -> Iterator[str]:
    misses_low_notes = brief.says("low_notes") or brief.says("thin")
    left = [x for x in FURTHER if x in zones and x not in own]
    yield from sorted(left, key=lambda zone: zone == BASS and not misses_low_notes)
