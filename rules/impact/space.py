"""Every question of the whole space that two releases may answer differently, found without asking any.

The space is every bike with every part, on each day and for each fitter that counts; every build that is declared, as stock
or by a case; every case; and paths that are handed in, such as saved plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import Literal

from rules.build import STOCK, AsFound
from rules.cases import found_of
from rules.catalog.case import Case
from rules.catalog.catalog import Bike, Catalog
from rules.impact.alike import AlikeBikes
from rules.impact.asked import Between, sides
from rules.impact.touch import Differing, differing
from rules.question import Fitter, PathQuestion

Kind = Literal["fit", "build", "case", "path"]
FITTERS: tuple[Fitter, ...] = ("shop", "home")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One question of the space.

    `bike` is asked in the newer release, `before` in the older one; they differ only where a model year is new, which is then
    held against the year before. An empty `before` or `bike`: there is nothing to ask on that side.
    `name` is the part of a fit question, or names the case, the build or the path.
    """

    kind: Kind
    bike: str
    before: str
    name: str
    on: date | None = None
    fitter: Fitter | None = None

    def __str__(self) -> str:
        """Say it in a line."""
        bike = self.bike or self.before
        against = f" (held against {self.before})" if self.before and self.before != bike else ""
        when = (
            f" on {self.on}, fitted {'in the shop' if self.fitter == 'shop' else 'at home'}"
            if self.on
            else ""
        )
        return f"{self.kind} {bike}{against} {self.name}{when}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Space:
    """The questions to ask, in a fixed order, and how many of the whole space need not be asked.

    `alike` maps a question to others that have the same answers in both releases, since they depend on the same.
    """

    asked: tuple[Asked, ...]
    alike: Mapping[Asked, tuple[Asked, ...]]
    size: int


class Surveyor:
    """Lays out the space between two releases."""

    def __init__(self, between: Between, days: tuple[date, ...]) -> None:
        self.between = between
        self.old = between.old.catalog
        self.new = between.new.catalog
        self.days = days
        self.pairs = tuple(_pairs(self.old, self.new))
        self._by_name = {bike or before: (bike, before) for bike, before in self.pairs}
        needs = between.reach.needs
        self._alike = (
            AlikeBikes(between.old, needs[0], days),
            AlikeBikes(between.new, needs[-1], days),
        )
        self._keys: dict[tuple[str, str], str] = {}

    def fits(self) -> Space:
        """Lay out every bike with every part."""
        asked: list[Asked] = []
        alike: dict[Asked, list[Asked]] = {}
        fronts: dict[object, tuple[str, str]] = {}
        reach: dict[str, frozenset[str]] = {}
        parts = frozenset(self._parts())
        for bike, before in self.pairs:
            name = bike or before
            leader = self.leader(name)
            if leader == name:
                reach[name] = self._reached(bike, before, parts)
            for part in sorted(reach[leader]):
                front = fronts.setdefault((part, self._key_for(leader, part)), (bike, before))
                for on in self.days:
                    for fitter in FITTERS:
                        one = self._asked(bike, before, part, on, fitter)
                        if front == (bike, before):
                            asked.append(one)
                        else:
                            alike.setdefault(self._asked(*front, part, on, fitter), []).append(one)
        size = len(self.pairs) * len(parts) * len(self.days) * len(FITTERS)
        return Space(
            asked=tuple(asked), alike={key: tuple(others) for key, others in alike.items()}, size=size
        )

    def leader(self, name: str) -> str:
        """Give the first bike that differs from this one in nothing that any rule looks at, in either release."""
        return self._leaders[name]

    @cached_property
    def _leaders(self) -> dict[str, str]:
        first: dict[object, str] = {}
        return {
            name: first.setdefault(self._key(bike, before), name)
            for name, (bike, before) in self._by_name.items()
        }

    def builds(self) -> dict[Asked, tuple[str, str, AsFound]]:
        """Lay out the declared builds that may be judged differently: stock, and as cases found them."""
        declared: dict[Asked, tuple[str, str, AsFound]] = {}
        for bike, before in self.pairs:
            if (
                bike in self.new.bikes
                and before in self.old.bikes
                and self.between_bikes(bike, before).ground
            ):
                declared[Asked(kind="build", bike=bike, before=before, name="stock")] = (bike, before, STOCK)
        for case in self._common_cases():
            found = found_of(case.found)
            for bike in sides(self.new, case.bike) if found != STOCK else ():
                if bike in self.old.bikes and self.between.on_bike(bike, found).ground:
                    one = Asked(kind="build", bike=bike, before=bike, name=f"as found: {case.name}")
                    declared[one] = (bike, bike, found)
        return declared

    def cases(self) -> dict[Asked, Case]:
        """Lay out the cases whose answer may change; those that are in both releases."""
        return {
            Asked(kind="case", bike=case.bike, before=case.bike, name=case.name): case
            for case in self._common_cases()
            if self.between.touches(case)
        }

    def paths(self, questions: Mapping[str, PathQuestion]) -> dict[Asked, PathQuestion]:
        """Lay out the paths handed in whose answer may change."""
        return {
            Asked(kind="path", bike=question.bike, before=question.bike, name=name): question
            for name, question in sorted(questions.items())
            if self._touches_path(question)
        }

    def _touches_path(self, question: PathQuestion) -> bool:
        names = sides(self.old, question.bike)
        if names != sides(self.new, question.bike):
            return True
        wanted = {part for want in question.wants for part in want.parts}
        is_open = any(not want.parts for want in question.wants)
        fitted = question.found.present(())
        for bike in names:
            what = self.between.on_bike(bike, question.found)
            reached = self.between.reach.of(what.placements)
            # What the rider has fitted may need something before anything that is wanted does.
            is_reached = not fitted.isdisjoint(reached) or any(x.part in wanted for x in reached)
            if what.ground or is_reached or (is_open and not what.is_empty):
                return True
        return False

    def _common_cases(self) -> Iterator[Case]:
        old = {case.name for case in self.old.cases}
        return (case for case in self.new.cases if case.name in old)

    def between_bikes(self, bike: str, before: str) -> Differing:
        """Give what differs from a bike of the older release to one of the newer."""
        if bike == before:
            return self.between.on_bike(bike, STOCK)
        one, other = self.between.old.desk(before), self.between.new.desk(bike)
        return differing(one, other, self.between.touched, self.between.days, same=False)

    def _parts(self) -> list[str]:
        both = {**self.old.parts, **self.new.parts}
        return sorted(name for name, part in both.items() if part.slot is not None)

    def _asked(self, bike: str, before: str, part: str, on: date, fitter: Fitter) -> Asked:
        return Asked(
            kind="fit",
            bike=bike if part in self.new.parts else "",
            before=before if part in self.old.parts else "",
            name=part,
            on=on,
            fitter=fitter,
        )

    def _reached(self, bike: str, before: str, parts: frozenset[str]) -> frozenset[str]:
        if not before or not bike:
            return parts
        found: set[str] = set()
        names = (sides(self.new, bike), sides(self.old, before))
        if len(names[0]) != len(names[1]):
            return parts
        for one, other in zip(*names, strict=True):
            found |= self.between.reach.parts(self.between_bikes(one, other), parts)
        return frozenset(found | self._listed_once)

    @cached_property
    def _listed_once(self) -> frozenset[str]:
        """The parts that are in one of the releases alone."""
        return frozenset((self.old.parts.keys() ^ self.new.parts.keys()).intersection(self._parts()))

    def _key(self, bike: str, before: str) -> object:
        old = tuple(map(self._alike[0].key, sides(self.old, before)))
        new = tuple(map(self._alike[1].key, sides(self.new, bike)))
        return old, new, self._is_asked_back(bike)

    def _key_for(self, name: str, part: str) -> str:
        if (name, part) not in self._keys:
            bike, before = self._by_name[name]
            old = part in self.old.parts and [
                self._alike[0].key_for(x, part) for x in sides(self.old, before)
            ]
            new = part in self.new.parts and [self._alike[1].key_for(x, part) for x in sides(self.new, bike)]
            self._keys[name, part] = repr((old, new, self._is_asked_back(bike)))
        return self._keys[name, part]

    def _is_asked_back(self, bike: str) -> object:
        # Whether a name stands for two bikes is part of the answer: it has to be asked back.
        return bike in self.new.ambiguous and self.new.ambiguous[bike].ask


def _pairs(old: Catalog, new: Catalog) -> Iterator[tuple[str, str]]:
    """Give every bike of the newer release with the one that it is held against; then those that are gone."""
    names = sorted(new.bikes.keys() | new.ambiguous.keys())
    for name in names:
        known = name in old.bikes or name in old.ambiguous
        yield name, name if known else year_before(name, old, new)
    for name in sorted((old.bikes.keys() | old.ambiguous.keys()) - set(names)):
        yield "", name


def year_before(name: str, old: Catalog, new: Catalog) -> str:
    """Give the bike of the older release that a new one follows: the same trim, the nearest model year before; else none."""
    bike = new.bikes.get(name)
    if bike is None:
        return ""
    earlier = [x for x in old.bikes.values() if _same_line(x, bike) and x.year < bike.year]
    # Of two sides of a split in that year the last one built: the change went on from there.
    return (
        max(earlier, key=lambda x: (x.year, x.split is not None and str(x.split.built_from), x.id)).id
        if earlier
        else ""
    )


def _same_line(one: Bike, other: Bike) -> bool:
    return (one.family, one.trim) == (other.family, other.trim)
