"""Whether a mistake alters some answer, and whether the catalog's cases notice it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from rules.build import STOCK
from rules.cases import run_case
from rules.catalog.case import Case, FitCase, PathCase
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.asked import Between, days_asked, parts_asked
from rules.impact.told import Told, told_fit
from rules.impact.touch import changed_keys, list_on
from rules.question import FitQuestion
from rules.strength.looks import Look
from rules.strength.mutants import Mutant, Slip
from rules.strength.workshop import Workshop

Fate = Literal["refused", "same", "noticed", "survived", "no_difference_found"]
"""What became of a mistake.

`refused`: the checks report it. `same`: nothing means anything else on any bike, so no answer differs. `noticed`: a
case fails. `survived`: an answer differs and every case passes. `no_difference_found`: neither a case nor any of the
questions asked had another answer; such a mistake does not count.
"""

QUESTIONS = 16
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
        self.engine = Engine(workshop.catalog)
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
        days = tuple(sorted({*self.days, *dividing_days(catalog), *_case_days(catalog)}))
        between = Between(self.engine, Engine(catalog), days)
        reached = self._reached(between)
        by = next(self._failing(between, [x for x in reached if not isinstance(x, PathCase)]), None)
        if by is not None:
            return Judged(slip=slip, fate="noticed", by=by)
        witness = self._witness(between)
        if witness is None:
            return Judged(slip=slip, fate="no_difference_found" if self._differs(between) else "same")
        by = next(self._failing(between, [x for x in reached if isinstance(x, PathCase)]), None)
        fate: Fate = "survived" if by is None else "noticed"
        return Judged(slip=slip, fate=fate, by=by or "", witness=witness)

    def _reached(self, between: Between) -> list[Case]:
        """Give the cases that may notice the mistake, nearest first."""
        changed = _changed_rules(between) | _changed_parts(between)
        found = ranked(between, self.looks, changed, far=FAR_CASES)
        return [case for case in found if between.touches(case)]

    def _failing(self, between: Between, cases: list[Case]) -> Iterator[str]:
        for case in cases:
            try:
                if not run_case(between.new, case).passed:
                    yield case.name
            except LoomwayError:
                # The question itself no longer makes sense: its bike or a part of it is gone.
                yield case.name

    def _differs(self, between: Between) -> bool:
        catalog = self.workshop.catalog
        if catalog.bikes.keys() != between.new.catalog.bikes.keys():
            return True
        return any(not between.on_bike(bike, STOCK).is_empty for bike in catalog.bikes)

    def _witness(self, between: Between) -> str | None:
        """Look for a question with another answer."""
        for asked, question in enumerate(self._questions(between)):
            if asked >= QUESTIONS:
                return None
            if self._old(question) != _answer(between.new, question):
                return f"{question.bike} {question.part} {question.on}"
        return None

    def _old(self, question: FitQuestion) -> Told | None:
        if question not in self._answers:
            self._answers[question] = _answer(self.engine, question)
        return self._answers[question]

    def _questions(self, between: Between) -> Iterator[FitQuestion]:
        new = between.new.catalog
        gone = self.workshop.catalog.bikes.keys() ^ new.bikes.keys()
        for bike in sorted(gone):
            yield FitQuestion(bike=bike, part=next(iter(new.parts)), on=self.days[-1])
        days = self._telling_days(between)
        parts = self._near_parts(between)
        for bike in self._telling_bikes(between):
            for part in parts[:PARTS]:
                for day in days:
                    yield FitQuestion(bike=bike, part=part, on=day)

    def _near_parts(self, between: Between) -> list[str]:
        """Give parts to ask about: what means something else itself, then what might need that."""
        known = self.workshop.catalog.parts.keys() & between.new.catalog.parts.keys()
        near: set[str] = set(_changed_parts(between))
        far: set[str] = set()
        for bike in self._telling_bikes(between):
            what = between.on_bike(bike, STOCK)
            near |= {x.part for x in what.placements} | self._rivals(between, bike)
            far |= between.reach.parts(what, known)
        return [*_spread(sorted(near & known)), *_spread(sorted((far - near) & known))]

    def _rivals(self, between: Between, bike: str) -> set[str]:
        """Give the parts for the slots of stock parts that are not the same."""
        stock = [engine.catalog.bikes[bike].has.stock for engine in (between.old, between.new)]
        slots = {key.partition(".")[2] for key in changed_keys(*stock)}
        return {part.id for part in self.workshop.catalog.parts.values() if part.slot in slots}

    def _telling_bikes(self, between: Between) -> list[str]:
        """Give a few bikes on which something differs, each unlike the others in what does."""
        known = self.workshop.catalog.bikes.keys() & between.new.catalog.bikes.keys()
        found: dict[object, str] = {}
        for bike in sorted(known):
            what = between.on_bike(bike, STOCK)
            if not what.is_empty:
                family = self.workshop.catalog.bikes[bike].family
                found.setdefault((what.ground, len(what.placements), family), bike)
        return sorted(found.values())[:TELLING_BIKES]

    def _telling_days(self, between: Between) -> list[date]:
        old, new = self.workshop.catalog, between.new.catalog
        differing = [day for day in between.days if list_on(old, day) != list_on(new, day)]
        return [*differing[:1], *differing[-1:]] if differing else self._usual_days(between)

    def _usual_days(self, between: Between) -> list[date]:
        if not between.touched.parts["money"]:
            return [self.usual]
        moved = set(dividing_days(self.workshop.catalog)) ^ set(dividing_days(between.new.catalog))
        return [*sorted(moved), self.usual]


PARTS = 6
"""Parts asked about on each of these bikes."""

FAR = 2
FAR_CASES = 12
"""Cases asked that only look at what was changed."""

TELLING_BIKES = 4
"""Bikes on which each part is asked about."""


def _spread(names: list[str]) -> list[str]:
    """Give names so that the first few are unlike one another: they stand far apart in order of id."""
    step = max(1, len(names) // PARTS)
    return [name for start in range(step) for name in names[start::step]]


def _changed_rules(between: Between) -> frozenset[str]:
    return changed_keys(between.old.catalog.rules, between.new.catalog.rules)


def _rules_expected(case: Case) -> frozenset[str]:
    named = (getattr(case, "rules", None) or ()), (getattr(case, "advice", None) or ())
    return frozenset(name for names in named for name in names)


def ranked(
    between: Between, looks: Mapping[str, Look], changed: frozenset[str], far: int | None
) -> list[Case]:
    """Give the cases that look at what differs, nearest first.

    Near are those that expect or tell of what was changed. Of the others, which only look at it, no more than `far` are
    given. What makes the engine look where it did not before is not seen here: so the cases may notice a little more
    than is counted, never less.
    """
    cases = [x for x in between.old.catalog.cases if _is_looked_at(between, x, looks[x.name])]
    found = sorted((_rank(case, looks[case.name], changed), case.name, case) for case in cases)
    near = [case for rank, _, case in found if rank[0] < FAR]
    return [*near, *[case for rank, _, case in found if rank[0] == FAR][:far]]


def _rank(case: Case, look: Look, changed: frozenset[str]) -> tuple[int, int]:
    asked = parts_asked(case) or frozenset()
    for rank, names in enumerate((_rules_expected(case) | asked, look.names)):
        if not names.isdisjoint(changed):
            return rank, _cost(case)
    return FAR, _cost(case)


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


def _cost(case: Case) -> int:
    """Order cases by what they cost to ask; a guess, which only decides how soon a mistake is noticed."""
    order = ("fit", "carry_over", "cart", "path")
    return order.index(case.kind) * 2 + (isinstance(case, FitCase) and case.verdict == "fits_with")


def _case_days(catalog: Catalog) -> frozenset[date]:
    return frozenset(day for case in catalog.cases for day in days_asked(case))


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
