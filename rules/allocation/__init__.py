"""Which channel feeds which zone: the best legal allocation of speakers to channels, or why there is none.

`docs/definitions.md` says what is legal and what is best. Numbers and names in, numbers and names out.
"""

from __future__ import annotations

from rules.allocation.answer import LIMITS, Allocation, Limit, NoAllocation, SideFed
from rules.allocation.question import Kept, Output, Side, Source, ZoneLoad, check_question
from rules.allocation.search import search

__all__ = [
    "LIMITS",
    "Allocation",
    "Kept",
    "Limit",
    "NoAllocation",
    "Output",
    "Side",
    "SideFed",
    "Source",
    "ZoneLoad",
    "allocate",
]


def allocate(
    sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept | None = None
) -> Allocation | NoAllocation:
    """Give every zone its channels in the best legal way.

    Args:
        sources: Amplifiers and head units; of equally good allocations the one that uses the first ones is given.
        zones: What is to be fed.
        kept: Zones that are fed already and keep their channels.

    Raises:
        MalformedQuestion: Names come twice or stand for nothing, figures are not above zero, or there are too many.

    Example:
        >>> pair = tuple(Output(id=x, watts={"4": 50.0}, min_ohm=4.0) for x in ("left", "right"))
        >>> fronts = ZoneLoad(name="fronts", impedance_ohm=4.0, rms_w=60.0)
        >>> allocate((Source(name="amplifier", outputs=pair),), (fronts,)).feeds[0].margin
        1.2
    """
    known = kept or {}
    check_question(sources, zones, known)
    found = search(sources, zones, known)
    return found if found is not None else _why_not(sources, zones, known)


def _why_not(sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept) -> NoAllocation:
    least = _fewest(sources, zones, kept)
    helps = tuple(limit for limit in LIMITS if search(sources, least, kept, limit) is not None)
    return NoAllocation(zones=tuple(zone.name for zone in least), would_help=helps)


def _fewest(sources: tuple[Source, ...], zones: tuple[ZoneLoad, ...], kept: Kept) -> tuple[ZoneLoad, ...]:
    """Drop zones while the rest still cannot be fed.

    It takes more than one round: two zones on one channel can be right where each alone would be given too much power.
    """
    for zone in zones:
        fewer = tuple(other for other in zones if other != zone)
        if search(sources, fewer, kept) is None:
            return _fewest(sources, fewer, kept)
    return zones
