"""Whether a mistake alters some answer, and whether the catalog's cases notice it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import islice, zip_longest
from typing import Literal, TypeVar

from rules.bench import Bench
from rules.build import STOCK, Placement
from rules.cases import run_case
from rules.catalog.case import Case, FitCase
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.asked import Between, days_asked, parts_asked, sides
from rules.impact.reach import Needs
from rules.impact.told import Told, told_fit
from rules.impact.touch import changed_keys, list_on
from rules.question import FitQuestion
from rules.strength.looks import Look
from rules.strength.mutants import Mutant, Slip
from rules.strength.wirings import Remembering, leave_wirings
from rules.strength.workshop import Workshop

T = TypeVar("T")

Fate = Literal["refused", "same", "noticed", "survived", "no_difference_found"]
"""What became of a mistake.

`refused`: the checks report it. `same`: nothing means anything else on any bike, so no answer differs. `noticed`: a
case fails. `survived`: an answer differs and every case passes. `no_difference_found`: neither a case nor any of the
questions asked had another answer; such a mistake does not count.
"""

QUESTIONS = 12
"""Questions asked in search of an answer that differs, nearest to the mistake first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Judged:
    """What became of one mistake. `by` is the case that noticed it; `witness` a question whose answer it alters."""

    slip: Slip
    fate: Fate
    by: str = ""
    witness: str = ""


class Judge:
    """Judges mistakes against one catalog and its cases."""

    def __init__(self, workshop: Workshop, looks: Mapping[str, Look]) -> None:
        """Take the catalog, and what was looked at for each of its cases, by the case's name."""
        self.workshop = workshop
        self.looks = looks
        self.engine = Remembering(workshop.catalog)
        self.needs = Needs(self.engine.tables)
        self.days = dividing_days(workshop.catalog)
        lists = workshop.catalog.price_lists
        self.usual = lists[-1].first if lists else self.days[-1]
        self._answers: dict[FitQuestion, Told | None] = {}

    def judge(self, mutant: Mutant) -> Judged:
        """Say what becomes of one mistake."""
        catalog = self.workshop.put_together({mutant.document: mutant.node})
        if catalog is None:
            return Judged(slip=mutant.slip, fate="refused")
        return self.judge_catalog(mutant.slip, catalog)

    def judge_catalog(self, slip: Slip, catalog: Catalog) -> Judged:
        """Say what becomes of a mistake, given the catalog that has it."""
        days = tuple(sorted({*self.days, *dividing_days(catalog), *_early_days(catalog)}))
        engine = Remembering(catalog)
        between = Between(self.engine, engine, days, self.needs)
        if leave_wirings(self.workshop.catalog, catalog, between.touched):
            engine.wirings = self.engine.wirings
        asked: set[str] = set()
        by = self._noticed_by(between, asked, FEW)
        if by:
            return Judged(slip=slip, fate="noticed", by=by)
        witness = self._witness(between)
        if witness is None:
            return Judged(slip=slip, fate="no_difference_found" if self._differs(between) else "same")
        by = self._noticed_by(between, asked, MANY)
        return Judged(slip=slip, fate="noticed" if by else "survived", by=by, witness=witness)

    def _noticed_by(self, between: Between, asked: set[str], most: Effort) -> str:
        """Ask the cases that may notice the mistake, nearest first; none that was asked before.

        Returns: The name of the first case that fails, or an empty text.
        """
        changed = _changed_rules(between) | _changed_parts(between)
        far = 0
        for rank, case in reached(between, self.looks, changed):
            if case.name in asked or case.kind not in most.kinds:
                continue
            far += rank == FAR
            if far > most.far:
                break
            asked.add(case.name)
            if self._fails(between.new, case):
                return case.name
        return ""

    def _fails(self, engine: Engine, case: Case) -> bool:
        try:
            return not run_case(engine, case).passed
        except LoomwayError:
            # The question itself no longer makes sense: its bike or a part of it is gone.
            return True

    def _differs(self, between: Between) -> bool:
        catalog = self.workshop.catalog
        if catalog.bikes.keys() != between.new.catalog.bikes.keys():
            return True
        return any(not between.on_bike(bike, STOCK).is_empty for bike in catalog.bikes)

    def _witness(self, between: Between) -> str | None:
        """Look for a question with another answer."""
        for question in islice(self._questions(between), QUESTIONS):
            if self._old(question) != _answer(between.new, question):
                at = f" at {question.place}" if question.place else ""
                return f"{question.bike} {question.part}{at} {question.on}"
        return None

    def _old(self, question: FitQuestion) -> Told | None:
        if question not in self._answers:
            self._answers[question] = _answer(self.engine, question)
        return self._answers[question]

    def _questions(self, between: Between) -> Iterator[FitQuestion]:
        """Give questions, nearest to the mistake first, on one bike after the other."""
        new = between.new.catalog
        for bike in sorted(self.workshop.catalog.bikes.keys() ^ new.bikes.keys()):
            yield FitQuestion(bike=bike, part=next(iter(new.parts)), on=self.days[-1])
        days = self._telling_days(between)
        bikes = self._telling_bikes(between)
        for placements in zip_longest(*(self._near(between, bike) for bike in bikes)):
            for bike, placed in zip(bikes, placements, strict=True):
                if placed is not None:
                    for day in days:
                        yield FitQuestion(bike=bike, part=placed.part, place=placed.place, on=day)

    def _near(self, between: Between, bike: str) -> Iterator[Placement]:
        """Give placements to ask about on one bike: what means something else itself, then what might need that."""
        benches = [engine.desk(bike).bench for engine in (between.old, between.new)]
        known = benches[0].universe & benches[1].universe
        what = between.on_bike(bike, STOCK)
        near = (what.placements - what.refused) & known
        if what.ground:
            near |= self._at_changed_plugs(*benches) & known
        far = known if what.ground else between.reach.of(what.placements) & known
        yield from _spread(sorted(near), PARTS)
        yield from _spread(sorted(far - near - benches[0].present), PARTS)

    def _at_changed_plugs(self, one: Bench, other: Bench) -> frozenset[Placement]:
        """Give what goes into slots of stock parts that are not the same, and to places of plugs that are not."""
        slots = changed_keys(one.has.stock, other.has.stock)
        plugs = set(changed_keys(one.loom.faces, other.loom.faces))
        for fed, feed in one.loom.feeds.items() ^ other.loom.feeds.items():
            plugs |= {fed.connector, feed.connector}
        places = {
            bench.loom.connectors[plug].place
            for bench in (one, other)
            for plug in plugs & bench.loom.connectors.keys()
        }
        return frozenset(
            x for x in one.universe if x.place in places or f"{x.place}.{one.part(x).slot}" in slots
        )

    def _telling_bikes(self, between: Between) -> list[str]:
        """Give a few bikes on which something differs: first such as are unlike the others in what does."""
        known = self.workshop.catalog.bikes.keys() & between.new.catalog.bikes.keys()
        differing = [bike for bike in sorted(known) if not between.on_bike(bike, STOCK).is_empty]
        unlike: dict[object, str] = {}
        for bike in differing:
            what = between.on_bike(bike, STOCK)
            unlike.setdefault(
                (what.ground, len(what.placements), self.workshop.catalog.bikes[bike].family), bike
            )
        others = [bike for bike in differing if bike not in unlike.values()]
        return [*unlike.values(), *_spread(others, TELLING_BIKES)][:TELLING_BIKES]

    def _telling_days(self, between: Between) -> list[date]:
        old, new = self.workshop.catalog, between.new.catalog
        differing = [day for day in between.days if list_on(old, day) != list_on(new, day)]
        return [*differing[:1], *differing[-1:]] if differing else self._usual_days(between)

    def _usual_days(self, between: Between) -> list[date]:
        if not between.touched.parts["money"]:
            return [self.usual]
        moved = set(dividing_days(self.workshop.catalog)) ^ set(dividing_days(between.new.catalog))
        return [*sorted(moved), self.usual]


@dataclass(frozen=True, slots=True)
class Effort:
    """Which kinds of cases are asked, and how many of those that only look at what was changed."""

    kinds: frozenset[str]
    far: int


FEW = Effort(frozenset({"fit"}), far=6)
MANY = Effort(frozenset({"fit", "cart", "path", "carry_over", "next_bike"}), far=12)
"""A mistake of which it is known that it alters an answer is worth more questions, and dearer ones."""

PARTS = 6
"""Placements asked about on each of the telling bikes: at most so many that differ, and as many that may need them."""

TELLING_BIKES = 4
"""Bikes on which placements are asked about."""

FAR = 2
"""The rank of cases that only look at what was changed: they neither expect nor tell of it."""


def _spread(many: list[T], most: int) -> list[T]:
    """Give a few of many that stand far apart in their order."""
    step = max(1, len(many) // most)
    return many[::step][:most]


def _changed_rules(between: Between) -> frozenset[str]:
    return changed_keys(between.old.catalog.rules, between.new.catalog.rules)


def _rules_expected(case: Case) -> frozenset[str]:
    named = (getattr(case, "rules", None) or ()), (getattr(case, "advice", None) or ())
    return frozenset(name for names in named for name in names)


def reached(
    between: Between, looks: Mapping[str, Look], changed: frozenset[str]
) -> Iterator[tuple[int, Case]]:
    """Give the cases that may notice what differs, nearest first, each with its rank.

    Nearest are those that expect or ask about what was changed, then those whose answers tell of it, or that ask about a
    placement that means something else; those of rank `FAR` only look at it. What makes the engine look where it did not
    before is not seen here: so the cases may notice a little more than is counted, never less.
    """
    ranks = {case.name: _rank(between, case, looks[case.name], changed) for case in between.old.catalog.cases}
    for case in sorted(between.old.catalog.cases, key=lambda case: (ranks[case.name], case.name)):
        if _is_looked_at(between, case, looks[case.name]) and between.touches(case):
            yield ranks[case.name][0], case


def _rank(between: Between, case: Case, look: Look, changed: frozenset[str]) -> tuple[int, int]:
    asked = parts_asked(case) or frozenset()
    if not changed.isdisjoint(_rules_expected(case) | asked):
        return 0, look.effort
    # Where parts or rules were changed, names tell; a bike's facts have none.
    if not changed.isdisjoint(look.names) or (not changed and _asks_what_differs(between, case)):
        return 1, look.effort
    return FAR, look.effort


def _asks_what_differs(between: Between, case: Case) -> bool:
    """Tell whether a fit case asks about a placement that means something else on its bike."""
    if not isinstance(case, FitCase):
        return False
    return any(
        x.part == case.part and case.place in (None, x.place)
        for bike in sides(between.old.catalog, case.bike)
        for x in between.on_bike(bike, STOCK).placements
    )


def _is_looked_at(between: Between, case: Case, look: Look) -> bool:
    asked = parts_asked(case) or frozenset()
    for bike, placements in look.placements.items():
        what = between.on_bike(bike, STOCK)
        telling = what.placements - what.refused
        # What is asked about itself always counts, though a hold may keep the engine from looking any further.
        if what.ground or not placements.isdisjoint(telling) or any(x.part in asked for x in what.placements):
            return True
    # What was measured on the rider's own bike, or is his own part, is told apart by the case itself.
    found = getattr(case, "found", None)
    return found is not None and bool(found.measured or found.own_parts)


def _changed_parts(between: Between) -> frozenset[str]:
    parts = between.touched.watched
    return parts or frozenset().union(*between.touched.parts.values())


def _early_days(catalog: Catalog) -> frozenset[date]:
    """Give the days of cases before the first list; any other day is like the dividing day before it."""
    first = dividing_days(catalog)[0]
    return frozenset(day for case in catalog.cases for day in days_asked(case) if day < first)


def _answer(engine: Engine, question: FitQuestion) -> Told | None:
    try:
        return told_fit(engine.fit(question))
    except LoomwayError:
        return None


def dividing_days(catalog: Catalog) -> tuple[date, ...]:
    """Give the first day of each time in which nothing dated changes: lists, holds and what is sold for a while only."""
    days: set[date] = set()
    for one in catalog.price_lists:
        days |= {one.first, one.last + timedelta(days=1)}
    for part in catalog.parts.values():
        if part.available is not None:
            days |= {part.available.first, part.available.last + timedelta(days=1)}
    for rule in catalog.rules.values():
        if rule.kind == "hold":
            days |= {rule.first, *([rule.last + timedelta(days=1)] if rule.last else [])}
    first = catalog.price_lists[0].first if catalog.price_lists else min(days, default=date.min)
    return tuple(sorted(day for day in days if day >= first)) or (first,)
