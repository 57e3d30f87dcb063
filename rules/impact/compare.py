"""Asks what may have changed between two releases, in both, and says which answers did, and because of what."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from rules.build import STOCK, AsFound
from rules.cases import answer_case
from rules.cases import differences as case_differences
from rules.catalog.case import Case
from rules.catalog.catalog import Catalog
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.asked import Between, days_asked, sides
from rules.impact.differences import Difference, differences, with_one
from rules.impact.space import Asked, Surveyor
from rules.impact.told import Told, told, told_build, told_fit, told_path
from rules.impact.touch import list_on
from rules.question import FitQuestion, PathQuestion

MOST_ALONE = 12
"""Differences that are tried alone for one answer; where more come together, the answer is put down to all of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """One answer that is not the same in both releases, and the differences that change it alone, or only together.

    `before` is None where there was nothing to ask, `after` where there is nothing any more.
    """

    asked: Asked
    before: Told | None
    after: Told | None
    causes: tuple[Difference, ...]

    @property
    def money(self) -> int | None:
        """Give by how much the total changed, in minor units; None where one of them has none."""
        totals = [x.total if x else None for x in (self.before, self.after)]
        return None if None in totals else (totals[1] or 0) - (totals[0] or 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Impact:
    """Every answer that a release changes.

    `size` counts the fit questions of the whole space, `asked` those that had to be asked; all others have the same answer in
    both by what they depend on. `failing` are cases of the newer release that do not come out as expected.
    """

    days: tuple[date, ...]
    differences: tuple[Difference, ...]
    changed: tuple[Changed, ...]
    size: int
    asked: int
    failing: tuple[str, ...] = ()


Answers = tuple[Told | None, Told | None]
AskAll = Callable[[Mapping[str, tuple[Asked, ...]], "Asker"], Iterable[tuple[Asked, Answers]]]
"""Asks questions, which are handed over bike by bike; another one than `ask_in_turn` may share them out."""


def impact(
    old: Catalog,
    new: Catalog,
    on: date,
    *,
    paths: Mapping[str, PathQuestion] | None = None,
    days: tuple[date, ...] | None = None,
    ask_all: AskAll | None = None,
) -> Impact:
    """Compare all answers of two catalogs.

    Args:
        old: What is served.
        new: What is to be.
        on: The day from which answers count.
        paths: Path questions by name, such as those of saved plans.
        days: The days that count; left out, `on`, and the first day of each later time in which dated facts differ.
        ask_all: How questions are asked; left out, one after the other.

    Returns: What changed, exactly: equal to asking everything in both.
    """
    chosen = days or days_that_matter(old, new, on)
    asker = Asker(old, new, chosen)
    fits = asker.surveyor.fits()
    by_bike: dict[str, list[Asked]] = {}
    for one in fits.asked:
        by_bike.setdefault(one.bike or one.before, []).append(one)
    ask = ask_all or ask_in_turn
    changed: list[Changed] = []
    whole = {bike: tuple(asked) for bike, asked in by_bike.items()}
    for asked, (before, after) in ask(whole, asker):
        if before != after:
            alike = (asked, *fits.alike.get(asked, ()))
            changed += [
                Changed(asked=x, before=before, after=after, causes=asker.causes(x, before, after))
                for x in alike
            ]
    changed += asker.others(paths or {})
    found = differences(old, new)
    return Impact(
        days=chosen,
        differences=found,
        changed=tuple(sorted(changed, key=lambda x: str(x.asked))),
        size=fits.size,
        asked=len(fits.asked),
        failing=asker.failing(),
    )


def ask_in_turn(whole: Mapping[str, tuple[Asked, ...]], asker: Asker) -> Iterator[tuple[Asked, Answers]]:
    """Ask one bike after the other."""
    for asked in whole.values():
        yield from asker.ask(asked)


@dataclass
class Asker:
    """Two engines, and the older catalog with single differences."""

    old: Catalog
    new: Catalog
    days: tuple[date, ...]
    between: Between = field(init=False)
    surveyor: Surveyor = field(init=False)
    _alone: dict[Difference, Between | None] = field(default_factory=dict)
    _causes: dict[Asked, tuple[Difference, ...]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        cases = {
            day for catalog in (self.old, self.new) for case in catalog.cases for day in days_asked(case)
        }
        compared = tuple(sorted({*self.days, *cases}))
        self.between = Between(Engine(self.old), Engine(self.new), compared)
        self.surveyor = Surveyor(self.between, self.days)
        self.differences = differences(self.old, self.new)

    def ask(self, asked: Iterable[Asked]) -> Iterator[tuple[Asked, Answers]]:
        """Ask fit questions in both releases."""
        for one in asked:
            before = self._fit(self.between.old, one, one.before)
            yield one, (before, self._fit(self.between.new, one, one.bike))

    def _fit(self, engine: Engine, asked: Asked, bike: str) -> Told | None:
        if not bike or asked.on is None or asked.fitter is None:
            return None
        question = FitQuestion(bike=bike, part=asked.name, on=asked.on, fitter=asked.fitter)
        return told_fit(engine.fit(question))

    # --- causes ------------------------------------------------------------------------------------------

    def causes(self, asked: Asked, before: Told | None, after: Told | None) -> tuple[Difference, ...]:
        """Give the differences that alone make the new answer; else those that alone make another one than the old.

        If none does, all that may have a part in it.
        """
        if asked.kind != "fit":
            return self._may_cause(asked, before, after)
        key = replace(asked, bike="", before=self.surveyor.leader(asked.bike or asked.before))
        if key not in self._causes:
            self._causes[key] = self._causes_of_fit(asked, before, after)
        return self._causes[key]

    def _causes_of_fit(self, asked: Asked, before: Told | None, after: Told | None) -> tuple[Difference, ...]:
        may = self._may_cause(asked, before, after)
        if len(may) == 1 or len(may) > MOST_ALONE:
            return may
        alone = {x: self._alone_gives(asked, before, x) for x in may}
        whole = tuple(x for x in may if alone[x] == after)
        return whole or tuple(x for x in may if alone[x] != before) or may

    def _may_cause(self, asked: Asked, before: Told | None, after: Told | None) -> tuple[Difference, ...]:
        names = {asked.bike, asked.before} - {""}
        listed = tuple(x for x in self.differences if x.kind == "bike" and x.of in names)
        if listed and (asked.bike != asked.before or before is None or after is None):
            return listed
        itself = tuple(x for x in self.differences if x.kind == "part" and x.of == asked.name and not x.path)
        if itself:
            return itself
        bikes = {*sides(self.old, asked.before), *sides(self.new, asked.bike)}
        may = tuple(
            x
            for x in self.differences
            if (not x.bikes or not bikes.isdisjoint(x.bikes)) and self._may_reach(x, asked)
        )
        # Something caused it: where that can be one difference only, it is that one.
        return may if len(may) == 1 else tuple(x for x in may if self._reaches(x, asked))

    def _may_reach(self, difference: Difference, asked: Asked) -> bool:
        alone = self._only(difference)
        if alone is None or asked.kind != "fit":
            return True
        return any(alone.may_reach(bike, asked.name) for bike in sides(self.old, asked.before))

    def _reaches(self, difference: Difference, asked: Asked) -> bool:
        alone = self._only(difference)
        if alone is None or asked.kind != "fit":
            return True
        return any(
            alone.reach.parts(alone.on_bike(bike, STOCK), [asked.name])
            for bike in sides(self.old, asked.before)
        )

    def _alone_gives(self, asked: Asked, before: Told | None, difference: Difference) -> Told | None:
        alone = self._only(difference)
        return before if alone is None else self._fit(alone.new, asked, asked.before)

    def _only(self, difference: Difference) -> Between | None:
        if difference not in self._alone:
            try:
                catalog = with_one(self.old, self.new, difference)
            except ValueError:
                # By itself it makes no entry, as when a plug is renamed in two places.
                catalog = None
            self._alone[difference] = None if catalog is None else self._with(difference, catalog)
        return self._alone[difference]

    def _with(self, difference: Difference, catalog: Catalog) -> Between:
        between = self.between
        compiled = between.old.tables if difference.kind == "price" else None
        return Between(between.old, Engine(catalog, compiled), between.days, between.needs)

    # --- builds, cases, paths --------------------------------------------------------------------------------

    def others(self, paths: Mapping[str, PathQuestion]) -> list[Changed]:
        """Give what changed about declared builds, cases, and paths that were handed in."""
        return [
            Changed(asked=asked, before=before, after=after, causes=self.causes(asked, before, after))
            for asked, before, after in (*self._builds(), *self._cases(), *self._paths(paths))
            if before != after
        ]

    def _builds(self) -> Iterator[tuple[Asked, Told | None, Told | None]]:
        for asked, (bike, before, found) in self.surveyor.builds().items():
            yield (
                asked,
                self._build(self.between.old, before, found),
                self._build(self.between.new, bike, found),
            )

    @staticmethod
    def _build(engine: Engine, bike: str, found: AsFound) -> Told | None:
        try:
            desk = engine.desk(bike, found)
        except LoomwayError:
            return None
        return told_build(desk.examiner.examine(desk.bench.present))

    def _cases(self) -> Iterator[tuple[Asked, Told | None, Told | None]]:
        for asked, case in self.surveyor.cases().items():
            yield asked, self._case(self.between.old, case), self._case(self.between.new, case)

    @staticmethod
    def _case(engine: Engine, case: Case) -> Told | None:
        try:
            return told(answer_case(engine, case))
        except LoomwayError:
            return None

    def _paths(self, paths: Mapping[str, PathQuestion]) -> Iterator[tuple[Asked, Told | None, Told | None]]:
        for asked, question in self.surveyor.paths(paths).items():
            yield asked, self._path(self.between.old, question), self._path(self.between.new, question)

    @staticmethod
    def _path(engine: Engine, question: PathQuestion) -> Told | None:
        try:
            return told_path(engine.path(question))
        except LoomwayError:
            return None

    def failing(self) -> tuple[str, ...]:
        """Give the cases of the newer catalog that do not come out as expected, among those that may have changed."""
        before = {case.name: case for case in self.old.cases}
        changed = [
            case for case in self.new.cases if before.get(case.name) != case or self.between.touches(case)
        ]
        return tuple(case.name for case in changed if not self._passes(case))

    def _passes(self, case: Case) -> bool:
        try:
            return not case_differences(case, answer_case(self.between.new, case))
        except LoomwayError:
            return False


def days_that_matter(old: Catalog, new: Catalog, on: date) -> tuple[date, ...]:
    """Give a day, and the first day of each later time in which prices, holds or times of sale are not the same.

    What is not dated is compared on the first of these days: it changes on all of them.
    """
    turns = sorted({day for catalog in (old, new) for day in _turns(catalog) if day > on})
    return (on, *(day for day in turns if _dated(old, day) != _dated(new, day)))


def _turns(catalog: Catalog) -> Iterator[date]:
    for one in catalog.price_lists:
        yield from (one.first, one.last + timedelta(days=1))
    for part in catalog.parts.values():
        if part.available is not None:
            yield from (part.available.first, part.available.last + timedelta(days=1))
    for rule in catalog.rules.values():
        if rule.kind == "hold":
            yield from (rule.first, *([rule.last + timedelta(days=1)] if rule.last else []))


def _dated(catalog: Catalog, day: date) -> object:
    found = list_on(catalog, day)
    in_force = found and (
        found[0].prices,
        found[0].resale,
        found[0].labour_per_hour,
        found[0].freight,
        found[1],
    )
    sold = {x.id for x in catalog.parts.values() if x.available is not None and not x.available.holds(day)}
    holds = {
        (x.id, x.subject)
        for x in catalog.rules.values()
        if x.kind == "hold" and x.first <= day and (x.last is None or day <= x.last)
    }
    return in_force, sold, {repr(x) for x in holds}
