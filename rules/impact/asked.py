"""What a case asks about, and whether a difference between two releases can reach it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cached_property

from rules.build import STOCK, AsFound
from rules.cases import found_of
from rules.catalog.case import CarryOverCase, CartCase, Case, FitCase, NextBikeCase, PathCase
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.reach import Needs, Reach
from rules.impact.touch import Differing, Touched, differing, same_bike, touched


def parts_asked(case: Case) -> frozenset[str] | None:
    """Give the parts that a case asks about; None if it may be any."""
    match case:
        case FitCase():
            return frozenset({case.part})
        case CartCase():
            return frozenset(case.parts)
        case PathCase() | NextBikeCase():
            named = [getattr(x, "part", None) for x in case.wanted]
            return None if None in named or not named else frozenset(x for x in named if x is not None)
        case CarryOverCase():
            return frozenset()


def days_asked(case: Case) -> tuple[date, ...]:
    """Give the days on which a case is asked."""
    return tuple(x.date for x in case.stages) if isinstance(case, PathCase | NextBikeCase) else (case.date,)


def sides(catalog: Catalog, name: str) -> tuple[str, ...]:
    """Give the bikes that a name stands for; none if it stands for nothing."""
    return (
        (name,)
        if name in catalog.bikes
        else catalog.ambiguous[name].sides
        if name in catalog.ambiguous
        else ()
    )


class Between:
    """Two catalogs with their engines, and what differs on their bikes.

    Args:
        days: Days on which money is compared.
        needs: Those of the older catalog, if they are known already.
    """

    def __init__(self, old: Engine, new: Engine, days: tuple[date, ...], needs: Needs | None = None) -> None:
        self.old = old
        self.new = new
        self.days = days
        self.touched: Touched = touched(old.tables, new.tables, days)
        self.needs = needs or Needs(old.tables)
        is_alike = new.tables.is_like(old.tables)
        self.reach = Reach(self.needs) if is_alike else Reach(self.needs, Needs(new.tables))
        self._differing: dict[tuple[str, str], Differing] = {}
        self._whole = Differing(ground=True, placements=frozenset())

    def on_bike(self, bike: str, found: AsFound) -> Differing:
        """Give what differs on one bike as found; everything where it is not in both catalogs."""
        if bike not in self.old.catalog.bikes or bike not in self.new.catalog.bikes:
            return self._whole
        same = same_bike(self.old.catalog.bikes[bike], self.new.catalog.bikes[bike])
        if same and self.touched.is_empty:
            return Differing(ground=False, placements=frozenset())
        if found != STOCK and not (found.measured or found.own_parts or found.wiring):
            # Parts and presets on the bike do not change what anything else means on it.
            there = found.present(())
            stock = self.on_bike(bike, STOCK)
            return replace(stock, ground=stock.ground or not there.isdisjoint(stock.placements))
        key = (bike, repr(found))
        if key not in self._differing:
            self._differing[key] = self._compare(bike, found, same=same)
        return self._differing[key]

    def may_reach(self, bike: str, part: str) -> bool:
        """Tell whether an answer about a part may change on a bike, without a look at what anything means there."""
        catalogs = self.old.catalog, self.new.catalog
        one, other = (catalog.bikes.get(bike) for catalog in catalogs)
        if one is None or other is None or self.touched.everything or not same_bike(one, other):
            return True
        if catalogs[0].contact_maps != catalogs[1].contact_maps:
            return True
        return part in self._parts_reached or not self._parts_touched.isdisjoint(one.has.stock.values())

    @cached_property
    def _parts_touched(self) -> frozenset[str]:
        return frozenset[str]().union(*self.touched.parts.values())

    @cached_property
    def _parts_reached(self) -> frozenset[str]:
        return self.reach.of_parts(self._parts_touched)

    def _compare(self, bike: str, found: AsFound, *, same: bool) -> Differing:
        try:
            one, other = (engine.desk(bike, found) for engine in (self.old, self.new))
        except LoomwayError:
            # What is said of the bike no longer holds together in one of them.
            return self._whole
        return differing(one, other, self.touched, self.days, same=same)

    def touches(self, case: Case) -> bool:
        """Tell whether a case may have another answer."""
        if isinstance(case, CarryOverCase):
            return self._touches_carry_over(case)
        if isinstance(case, NextBikeCase):
            return self._touches_next_bike(case)
        found = found_of(case.found)
        names = sides(self.old.catalog, case.bike)
        if names != sides(self.new.catalog, case.bike):
            return True
        return any(self._touches(case, self.on_bike(bike, found), found) for bike in names)

    def _touches(self, case: Case, what: Differing, found: AsFound) -> bool:
        if what.is_empty:
            return False
        asked = parts_asked(case)
        if what.ground or asked is None:
            return True
        present = found.present(())
        reached = self.reach.of(what.placements)
        return any(x.part in asked or x in present for x in reached)

    def _touches_carry_over(self, case: CarryOverCase) -> bool:
        for name in (case.bike, case.next_bike):
            if sides(self.old.catalog, name) != sides(self.new.catalog, name):
                return True
        found = found_of(case.found)
        here = [self.on_bike(bike, found) for bike in sides(self.old.catalog, case.bike)]
        if any(x.ground for x in here):
            return True
        own = {entry.placement.part for entry in found.fitted}
        parts = found.own_parts
        # On the next bike everything that the rider owns is to hand.
        there = [
            self.on_bike(bike, AsFound(own_parts=parts)) for bike in sides(self.old.catalog, case.next_bike)
        ]
        return any(
            x.ground or any(placed.part in own for placed in self.reach.of(x.placements)) for x in there
        )

    def _touches_next_bike(self, case: NextBikeCase) -> bool:
        """Tell so wherever anything differs: all new is planned for too, with whatever is for sale."""
        found = found_of(case.found)
        for name, there in ((case.bike, found), (case.next_bike, AsFound(own_parts=found.own_parts))):
            bikes = sides(self.old.catalog, name)
            if bikes != sides(self.new.catalog, name):
                return True
            if any(not self.on_bike(bike, there).is_empty for bike in bikes):
                return True
        return False
