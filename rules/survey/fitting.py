"""Parts that fit nothing, and bikes that nothing fits."""

from __future__ import annotations

from functools import cached_property

from rules.build import Placement
from rules.catalog.part import Part
from rules.desk import Desk
from rules.diagnostics import Span, names, quote
from rules.question import FitQuestion
from rules.survey.codes import FITS_NOTHING, NOTHING_FITS
from rules.survey.ground import Ground
from rules.verdict import Status, Verdict

VERIFIED = (Verdict.FITS, Verdict.FITS_WITH)


def check_fitting(ground: Ground) -> None:
    """Report parts that fit nothing, and bikes that nothing fits."""
    fitting = _Fitting(ground)
    for part in ground.catalog.parts.values():
        if not part.stock_only and not fitting.is_possible(part):
            message = f"part {quote(part.id)} fits no bike of the catalog"
            ground.report(FITS_NOTHING, ground.parts[part.id].at("id"), message)
    bare = [bike for bike in ground.bikes if fitting.sold and not fitting.has_any(bike)]
    for bikes in _by_entry(ground, bare).values():
        _report_bare(ground, bikes)


class _Fitting:
    """What can be on the bikes of a ground, and what is verified to fit them."""

    def __init__(self, ground: Ground) -> None:
        self.ground = ground

    @cached_property
    def sold(self) -> tuple[Part, ...]:
        """Parts for sale on the day that can be fitted."""
        parts = self.ground.catalog.parts.values()
        return tuple(part for part in parts if part.slot is not None and self.ground.is_sold(part.id))

    @cached_property
    def possible(self) -> tuple[frozenset[str], ...]:
        """For each different bike the parts that nothing rules out there."""
        desks = (self.ground.desk(bike) for bike in self.ground.bikes)
        return tuple(frozenset(placed.part for placed in possible_on(desk)) for desk in desks)

    def is_possible(self, part: Part) -> bool:
        if part.preset:
            return any(not parts.isdisjoint(part.preset.amplifiers) for parts in self.possible)
        alone = {part.id} if part.slot is not None else set(part.members)
        return any(alone - self.placeless <= parts for parts in self.possible)

    @cached_property
    def placeless(self) -> frozenset[str]:
        return frozenset(part.id for part in self.ground.catalog.parts.values() if part.slot is None)

    def has_any(self, bike: str) -> bool:
        """Tell whether anything for sale is verified to fit a bike; what asks for least is tried first."""
        desk = self.ground.desk(bike)
        possible = possible_on(desk)
        asked: dict[str, int] = {}
        for placed in possible:
            asked[placed.part] = min(asked.get(placed.part, len(possible)), len(desk.audition(placed)))
        sold = sorted((asked[part.id], part.id) for part in self.sold if part.id in asked)
        return any(self._verdict(bike, part) in VERIFIED for _, part in sold)

    def _verdict(self, bike: str, part: str) -> Verdict:
        return self.ground.engine.fit(FitQuestion(bike=bike, part=part, on=self.ground.on)).verdict


def possible_on(desk: Desk) -> frozenset[Placement]:
    """Give what nothing rules out on a bike: everything, less what needs something that is itself ruled out.

    What is left out is in no valid build. Not all that is left in must be in one: parts are looked at one by one.
    """
    bench = desk.bench
    possible = {x for x in bench.universe if not bench.part(x).stock_only or x in bench.stock}
    needs = {x: _needs(desk, x) for x in possible}
    while True:
        gone = {x for x in possible if any(possible.isdisjoint(repairs) for repairs in needs[x])}
        if not gone:
            return frozenset(possible)
        possible -= gone


def _needs(desk: Desk, placed: Placement) -> list[frozenset[Placement]]:
    """Give sets of parts, one of each of which must be there for a part to be there."""
    alone = frozenset({placed})
    return [
        finding.repairs
        for finding in desk.audition(placed)
        if finding.status is Status.REFUSED and finding.present == alone
    ]


def _by_entry(ground: Ground, bikes: list[str]) -> dict[Span, list[str]]:
    """Group bikes by the entry of their family that holds their year."""
    groups: dict[Span, list[str]] = {}
    for bike in bikes:
        groups.setdefault(_entry(ground, bike), []).append(bike)
    return groups


def _entry(ground: Ground, bike: str) -> Span:
    found = ground.catalog.bikes[bike]
    family = next(family for family in ground.draft.families if family.what.family == found.family)
    entries = family.what.entries
    index = next(index for index, entry in enumerate(entries) if found.year in entry.years)
    return family.at("entries", index, "years")


def _report_bare(ground: Ground, bikes: list[str]) -> None:
    everyone = sorted(x for bike in bikes for x in ground.alike(bike))
    more = f" and {len(everyone) - _SHOWN} more" if len(everyone) > _SHOWN else ""
    message = f"nothing for sale is verified to fit {names(everyone[:_SHOWN])}{more}"
    ground.report(NOTHING_FITS, _entry(ground, bikes[0]), message)


_SHOWN = 3
"""Bikes that a message names."""
