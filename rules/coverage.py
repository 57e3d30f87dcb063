"""What a catalog's cases exercise: which rules decide a case, which spans and outcomes are asked about.

A rule *decides* a case when the case has another answer in the same catalog without the rule, and without what hangs on it
(an exception to it, its mention in the order of work). So a rule that is consulted and changes nothing is not exercised;
one that only adds a line of labour or a sentence of advice is.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from random import Random

from rules.build import stock_placements
from rules.cases import answer_case, found_of
from rules.catalog.case import CarryOverCase, CartCase, Case, FitCase, NextBikeCase, PathCase
from rules.catalog.catalog import Catalog
from rules.catalog.rule import Clearance, Excludes, FlashNeeded, Requires
from rules.engine import Engine
from rules.errors import LoomwayError
from rules.impact.asked import Between, days_asked, parts_asked, sides
from rules.impact.told import Told, told
from rules.strength.judge import dividing_days, reached
from rules.strength.looks import Look
from rules.strength.slips import rule_taken_out
from rules.strength.workshop import Workshop, replaced
from rules.tables import PartRule
from rules.yaml_nodes import find, items

YES = ("fits", "fits_with")
_OUTCOMES: Mapping[str, tuple[str, ...]] = {
    "fit": ("fits", "fits_with", "not_verified", "does_not_fit"),
    "cart": ("fits", "fits_with", "not_verified", "does_not_fit"),
    "path": ("path", "no_path", "not_verified"),
    "carry_over": ("as_is", "with_adapter", "no", "not_verified"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Covered:
    """One thing that cases may exercise, and the first case that does; an empty name where none does."""

    what: str
    by: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """What is exercised and what is not, each in order of its name."""

    rules: tuple[Covered, ...]
    spans: tuple[Covered, ...]
    outcomes: tuple[Covered, ...]

    @property
    def missing(self) -> tuple[Covered, ...]:
        """Give what no case exercises."""
        return tuple(x for x in (*self.rules, *self.spans, *self.outcomes) if not x.by)


class RuleCover:
    """Finds the case that each rule decides."""

    def __init__(self, workshop: Workshop, looks: Mapping[str, Look]) -> None:
        self.workshop = workshop
        self.looks = looks
        self.engine = Engine(workshop.catalog)

    def of(self, rule: str) -> Covered:
        """Give the nearest case that a rule decides."""
        catalog = self._without(rule)
        if catalog is None:
            # The rest does not hold together without it: the checks themselves would notice.
            return Covered(what=rule, by="the checks of the catalog")
        days = sorted({*dividing_days(catalog), *(day for case in catalog.cases for day in days_asked(case))})
        between = Between(self.engine, Engine(catalog), tuple(days))
        changed = frozenset({rule})
        for _, case in reached(between, self.looks, changed):
            if self._again(between.new, case) != self.looks[case.name].told:
                return Covered(what=rule, by=case.name)
        return Covered(what=rule, by="")

    def _without(self, rule: str) -> Catalog | None:
        for index, document in enumerate(self.workshop.documents):
            listed = items(find(document.node, ("rules",))[0]) if document.folder == "rules" else ()
            for at, node in enumerate(listed):
                if find(node, ("id",))[0].span == self.workshop.rule_spans.get(rule):
                    made = rule_taken_out(document.node, ("rules", at), Random(0))  # noqa: S311 - it draws nothing
                    tree = document.node
                    for path, new in made[1] if made else ():
                        tree = replaced(tree, path, new)
                    return self.workshop.put_together({index: tree})
        return None

    def _again(self, engine: Engine, case: Case) -> Told | None:
        try:
            return told(answer_case(engine, case))
        except LoomwayError:
            return None


def span_cover(workshop: Workshop) -> Iterator[Covered]:
    """Give every span of the catalog: entries and trims of families, sides of splits, price lists, times of sale."""
    catalog = workshop.catalog
    asked = [(case.name, catalog.bikes[bike]) for case in catalog.cases for bike in _bikes(catalog, case)]
    for family in workshop.families:
        here = [(name, bike) for name, bike in asked if bike.family == family.family]
        for entry in family.entries:
            by = next((name for name, bike in here if bike.year in entry.years), "")
            yield Covered(what=f"{family.family} {entry.years}", by=by)
        for trim in family.trims:
            by = next((name for name, bike in here if bike.trim == trim.id), "")
            yield Covered(what=f"{family.family} {trim.id} {trim.years}", by=by)
        for side in {side.id: side for split in family.splits for side in split.sides}.values():
            by = next((name for name, bike in here if bike.split and bike.split.id == side.id), "")
            yield Covered(what=f"{family.family} side {side.id}", by=by)
    days = [(case.name, day) for case in catalog.cases for day in days_asked(case)]
    for prices in catalog.price_lists:
        by = next((name for name, day in days if prices.first <= day <= prices.last), "")
        yield Covered(what=f"price list {prices.price_list}", by=by)


def _bikes(catalog: Catalog, case: Case) -> Iterator[str]:
    yield from sides(catalog, case.bike)
    if isinstance(case, CarryOverCase | NextBikeCase):
        yield from sides(catalog, case.next_bike)


def outcome_cover(catalog: Catalog, looks: Mapping[str, Look]) -> Iterator[Covered]:
    """Give every answer that a kind of case may have; and for rules about parts, that each lets something pass, or refuses."""
    found = [(case, word) for case in catalog.cases for word in _expected(case)]
    for kind, words in _OUTCOMES.items():
        for word in words:
            by = next((case.name for case, expected in found if (case.kind, expected) == (kind, word)), "")
            yield Covered(what=f"{kind}: {word}", by=by)
    engine = Engine(catalog)
    for rule in catalog.rules.values():
        if isinstance(rule, PartRule):
            selected = engine.tables.selected(rule.subject)
            yield Covered(what=f"{rule.id} lets pass", by=_passing(catalog, looks, selected))
            yield Covered(what=f"{rule.id} {_stops(rule)}", by=_stopping(catalog, looks, rule))


def _expected(case: Case) -> tuple[str, ...]:
    match case:
        case FitCase() | CartCase():
            return (case.verdict,)
        case PathCase():
            return (case.outcome,)
        case CarryOverCase():
            return tuple(sorted(set(case.carries.values())))
        case NextBikeCase():
            return ()


def _passing(catalog: Catalog, looks: Mapping[str, Look], selected: frozenset[str]) -> str:
    for case in catalog.cases:
        answer = looks[case.name].told
        if answer.outcome in (*YES, "path"):
            there = (parts_asked(case) or frozenset()) | looks[case.name].names
            if not selected.isdisjoint(there):
                return case.name
    return ""


def _stops(rule: PartRule) -> str:
    return "refuses" if isinstance(rule, Clearance | Excludes) else "asks for more"


def _stopping(catalog: Catalog, looks: Mapping[str, Look], rule: PartRule) -> str:
    """Give a case that a rule refuses or leaves open; for a rule that asks for more also one that buys what it asks for."""
    for case in catalog.cases:
        if rule.id in looks[case.name].told.rules:
            return case.name
    if isinstance(rule, Requires | FlashNeeded):
        engine = Engine(catalog)
        for case in catalog.cases:
            bought = {x.partition("@")[0] for x in looks[case.name].told.extras}
            asked = parts_asked(case) or frozenset()
            subject, needs = engine.tables.selected(rule.subject), engine.tables.selected(rule.needs)
            # A flash is bought for the head unit that the bike left the works with.
            there = asked | bought | _there(catalog, case)
            if not subject.isdisjoint(there) and not needs.isdisjoint(bought):
                return case.name
    return ""


def _there(catalog: Catalog, case: Case) -> frozenset[str]:
    """Give the parts that are on the bike before anything is bought."""
    found = found_of(case.found)
    stocks = [stock_placements(catalog.bikes[bike].has.stock) for bike in sides(catalog, case.bike)]
    return frozenset(placed.part for stock in stocks for placed in found.present(stock))
